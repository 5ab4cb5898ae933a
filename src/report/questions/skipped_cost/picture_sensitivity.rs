//! The headline ratio under other rules: a row each, the line at no difference.

use super::tables::under;
use crate::charts::{Axis, IntervalRow, IntervalRows, Panel, Reference, interval_rows};
use crate::measures::{Review, Row, Unit, Value};
use crate::report::page::picture::{Picture, frame, mark};
use crate::report::words::number::{Amount, Scale, number, whole};

/// The rows of sensitivity with the net saving beside each.
pub(in crate::report) fn sensitivity(review: &Review, title: String) -> Option<Picture> {
    let table = &review.skipped_cost;
    let rows: Vec<&Row> = table.rows_of("fleet", "sensitivity").collect();
    rows.first()?;
    let saving = |row: &Row| Amount::own(table, row, "net_saving", Unit::Money);
    let savings: Vec<Amount> = rows.iter().map(|row| saving(row)).collect();
    let scale = Scale::for_all(&savings, Unit::Money, &review.currency);
    let chart = IntervalRows {
        frame: frame(
            review,
            title,
            "Rate ratio of linked faults, skipped against both seen, under other rules",
            "Log axis. Each row changes one rule. Net saving: what looking is associated with saving, less its cost.",
        ),
        axis: Axis::Ratio,
        axis_label: "rate ratio".to_owned(),
        reference: Some(Reference { value: 1.0, label: "no difference".to_owned() }),
        columns: vec![
            "faults after skipped".to_owned(),
            "after both seen".to_owned(),
            format!("net saving, {}", scale.unit),
        ],
        panels: vec![Panel {
            title: String::new(),
            rows: rows.iter().map(|row| line(review, row, &saving(row), &scale)).collect(),
            rest: String::new(),
        }],
    };
    Some(Picture { name: "saving-sensitivity", svg: interval_rows(&chart) })
}

fn line(review: &Review, row: &Row, saving: &Amount, scale: &Scale) -> IntervalRow {
    let table = &review.skipped_cost;
    let variant = match table.own(row, "variant") {
        Value::Text(text) => text.as_str(),
        _ => "",
    };
    let count = |name: &str| whole(number(table.own(row, name)));
    IntervalRow {
        label: under(review, variant).into_owned(),
        mark: mark(row),
        texts: vec![count("faults_skipped"), count("faults_both"), saving.value_on(scale)],
    }
}
