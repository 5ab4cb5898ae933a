//! Contamination-linked faults per 1,000 matings, stage by family, on a log axis with the fleet's line.

use super::picked::linked_by;
use crate::charts::{Axis, IntervalRow, IntervalRows, Panel, Reference, interval_rows};
use crate::measures::Review;
use crate::measures::fault_rates::{By, Quantity, Row};
use crate::report::page::picture::{Picture, frame, mark};
use crate::report::words::flags::words;
use crate::report::words::label::{by_size, in_order};
use crate::report::words::number::whole;

/// Families with a panel of their own.
const MOST_PANELS: usize = 6;

/// By stage, a panel a family.
pub(in crate::report) fn by_stage_and_family(review: &Review, title: String) -> Option<Picture> {
    let table = &review.fault_rates;
    let rows = in_order(review, linked_by(table, By::StageFamily, Quantity::PerMatings));
    if rows.is_empty() {
        return None;
    }
    let families = by_size(&rows, "family");
    let panels = families.iter().take(MOST_PANELS).map(|family| Panel {
        title: family.clone(),
        rows: rows
            .iter()
            .filter(|row| row.group.family.as_deref().unwrap_or("unknown") == family)
            .map(|row| line(row))
            .collect(),
        rest: String::new(),
    });
    let fleet = linked_by(table, By::Fleet, Quantity::PerMatings).next();
    let drawn = format!(
        "Contamination-linked faults within {} days per 1,000 matings, {}",
        review.horizon_days, review.period.quarter
    );
    let chart = IntervalRows {
        frame: frame(review, title, &drawn, "Log axis: equal steps are equal ratios."),
        axis: Axis::Ratio,
        axis_label: "faults per 1,000 matings".to_owned(),
        reference: fleet
            .and_then(|row| row.estimate)
            .map(|value| Reference { value, label: "fleet".to_owned() }),
        columns: vec!["faults".to_owned(), "matings".to_owned(), "flags".to_owned()],
        panels: panels.collect(),
    };
    Some(Picture { name: "fault-rates", svg: interval_rows(&chart) })
}

fn line(row: &Row) -> IntervalRow {
    let events = row.events.map(|events| events as f64);
    IntervalRow {
        label: row.group.stage.as_deref().unwrap_or("unknown").to_owned(),
        mark: mark(row),
        texts: vec![whole(events), whole(Some(row.n)), words(&row.flags)],
    }
}
