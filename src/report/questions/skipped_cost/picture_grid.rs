//! The ranked picture once more, as a grid: stages down, families across, the net saving written in each cell.

use crate::charts::{Cell, Frame, Grid, GridRow, grid};
use crate::measures::skipped_cost::{By, Quantity, Row};
use crate::measures::{Review, Unit};
use crate::report::page::picture::Picture;
use crate::report::words::flags::look;
use crate::report::words::label::{by_size, in_order, part};
use crate::report::words::months::a_year;
use crate::report::words::number::{Amount, Scale};

/// Stage by family.
pub(in crate::report) fn saving_grid(review: &Review, title: String) -> Option<Picture> {
    let rows = review.skipped_cost.rows_of(By::StageFamily, Quantity::NetSaving);
    let rows = in_order(review, rows);
    if rows.is_empty() {
        return None;
    }
    let amounts: Vec<Amount> = rows.iter().map(Amount::of).collect();
    let scale = Scale::for_all(&amounts, Unit::Money, &review.currency);
    let families = by_size(&rows, "family");
    let mut stages: Vec<&str> = Vec::new();
    for row in &rows {
        let stage = part(row, "stage").unwrap_or("unknown");
        if !stages.contains(&stage) {
            stages.push(stage);
        }
    }
    let line = |stage: &str| GridRow {
        label: stage.to_owned(),
        cells: families.iter().map(|family| cell(&scale, &rows, stage, family)).collect(),
    };
    let subtitle = format!("Net saving by stage and family in {}, {}", scale.unit, a_year(review));
    let chart = Grid {
        frame: Frame {
            description: format!("{title}. {subtitle}."),
            title,
            subtitle,
            caption: "Intervals are in tables/skipped_cost.csv.".to_owned(),
        },
        columns: families.clone(),
        rows: stages.iter().map(|stage| line(stage)).collect(),
        scale_label: format!("net saving, {}", scale.unit),
        rest: "in tables/skipped_cost.csv".to_owned(),
    };
    Some(Picture { name: "saving-by-stage-and-family", svg: grid(&chart) })
}

fn cell(scale: &Scale, rows: &[&Row], stage: &str, family: &str) -> Cell {
    let is_here = |row: &&&Row| {
        part(row, "stage").unwrap_or("unknown") == stage
            && part(row, "family").unwrap_or("unknown") == family
    };
    match rows.iter().find(is_here) {
        Some(row) => Cell {
            value: row.estimate.map(|minor| minor / scale.divisor),
            text: Amount::of(row).value_on(scale),
            look: look(&row.flags),
        },
        None => Cell { value: None, text: String::new(), look: Default::default() },
    }
}
