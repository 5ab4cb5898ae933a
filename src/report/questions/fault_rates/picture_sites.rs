//! Linked faults per time in force by site, at the fleet's mix of stages and families.

use super::picked::linked_by;
use crate::charts::{Axis, IntervalRow, IntervalRows, Panel, Reference, interval_rows};
use crate::measures::Review;
use crate::measures::fault_rates::{By, Quantity, Row};
use crate::report::page::picture::{Picture, frame, mark};
use crate::report::words::flags::words;
use crate::report::words::label::{in_order, label};
use crate::report::words::number::whole;

/// Sites, the largest first.
pub(in crate::report) fn fault_sites(review: &Review, title: String) -> Option<Picture> {
    let table = &review.fault_rates;
    let rows = in_order(review, linked_by(table, By::Site, Quantity::Standardised));
    if rows.is_empty() {
        return None;
    }
    let line = |row: &&Row| IntervalRow {
        label: label(row),
        mark: mark(row),
        texts: vec![
            whole(row.events.map(|events| events as f64)),
            whole(Some(row.n)),
            whole(row.own.weight.map(|weight| 100.0 * weight)),
            words(&row.flags),
        ],
    };
    let rest = "in tables/fault_rates.csv".to_owned();
    let fleet = linked_by(table, By::Fleet, Quantity::PerMonths).next();
    let drawn = format!(
        "Contamination-linked faults per 1,000 connection-months in {}, each site at the fleet's mix of stages and \
         families",
        review.period.quarter
    );
    let chart = IntervalRows {
        frame: frame(
            review,
            title,
            &drawn,
            "Log axis: equal steps are equal ratios. Mix: how much of the fleet's mix the site has.",
        ),
        axis: Axis::Ratio,
        axis_label: "faults per 1,000 connection-months".to_owned(),
        reference: fleet
            .and_then(|row| row.estimate)
            .map(|value| Reference { value, label: "fleet".to_owned() }),
        columns: ["faults", "months", "mix, %", "flags"].map(str::to_owned).to_vec(),
        panels: vec![Panel { title: String::new(), rows: rows.iter().map(line).collect(), rest }],
    };
    Some(Picture { name: "fault-rates-by-site", svg: interval_rows(&chart) })
}
