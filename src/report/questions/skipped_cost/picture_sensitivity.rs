//! The headline ratio under other rules: a row each, the line at no difference.

use super::tables::under;
use crate::charts::{Axis, IntervalRow, IntervalRows, Panel, Reference, interval_rows};
use crate::measures::skipped_cost::{By, Quantity, Row};
use crate::measures::{Review, Unit};
use crate::report::page::picture::{Picture, frame, mark};
use crate::report::words::number::{Amount, Scale, count_or_dash};

/// The rows of sensitivity, each with its net saving.
pub(in crate::report) fn sensitivity(review: &Review, title: String) -> Option<Picture> {
    let rows = review.skipped_cost.rows_of(By::Fleet, Quantity::Sensitivity);
    let rows: Vec<&Row> = rows.collect();
    rows.first()?;
    let savings: Vec<Amount> = rows.iter().map(|row| Amount::money(row.own.net_saving)).collect();
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
            rows: rows.iter().map(|row| line(review, row, &scale)).collect(),
            rest: String::new(),
        }],
    };
    Some(Picture { name: "saving-sensitivity", svg: interval_rows(&chart) })
}

fn line(review: &Review, row: &Row, scale: &Scale) -> IntervalRow {
    IntervalRow {
        label: under(review, row),
        mark: mark(row),
        texts: vec![
            count_or_dash(row.own.faults_skipped),
            count_or_dash(row.own.faults_both),
            Amount::money(row.own.net_saving).value_on(scale),
        ],
    }
}
