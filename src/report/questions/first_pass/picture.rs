//! Shares clean at the first look: stages down, a panel a family; and by site.

use crate::charts::{Frame, IntervalRow, IntervalRows, Panel, Reference, interval_rows};
use crate::measures::Review;
use crate::measures::first_pass::{By, Quantity, Row};
use crate::report::page::picture::{Picture, frame, mark, share_axis};
use crate::report::page::section::counted;
use crate::report::words::flags::words;
use crate::report::words::label::{by_size, in_order, label, part};
use crate::report::words::number::whole;

/// Families with a panel of their own.
const MOST_PANELS: usize = 6;

/// By stage, a panel a family.
pub(in crate::report) fn by_stage(review: &Review, title: String) -> Option<Picture> {
    let table = &review.first_pass;
    let rows = in_order(review, table.rows_of(By::StageFamily, Quantity::Clean));
    if rows.is_empty() {
        return None;
    }
    let families = by_size(&rows, "family");
    let panels = families.iter().take(MOST_PANELS).map(|family| Panel {
        title: family.clone(),
        rows: rows
            .iter()
            .filter(|row| part(row, "family").unwrap_or("unknown") == family)
            .map(|row| line(row, part(row, "stage").unwrap_or("unknown").to_owned()))
            .collect(),
        rest: String::new(),
    });
    let left = families.len().saturating_sub(MOST_PANELS);
    let caption = if left > 0 {
        let families = counted(left as f64, "smaller family is", "smaller families are");
        format!("{families} in tables/first_pass.csv.")
    } else {
        String::new()
    };
    let drawn = format!(
        "Share of end faces clean at the first look, routine visits of {}, a panel a family, the largest first",
        review.period.quarter
    );
    let chart = IntervalRows {
        panels: panels.collect(),
        ..shares(review, &rows, frame(review, title, &drawn, &caption))
    };
    Some(Picture { name: "first-pass-by-stage", svg: interval_rows(&chart) })
}

/// By site, the largest first.
pub(in crate::report) fn by_site(review: &Review, title: String) -> Option<Picture> {
    let rows = in_order(review, review.first_pass.rows_of(By::Site, Quantity::Clean));
    if rows.is_empty() {
        return None;
    }
    let lines = rows.iter().map(|row| line(row, label(row))).collect();
    let drawn = format!(
        "Share of end faces clean at the first look by site, routine visits of {}, the largest first",
        review.period.quarter
    );
    let rest = "in tables/first_pass.csv".to_owned();
    let panels = vec![Panel { title: String::new(), rows: lines, rest }];
    let chart = IntervalRows { panels, ..shares(review, &rows, frame(review, title, &drawn, "")) };
    Some(Picture { name: "first-pass-by-site", svg: interval_rows(&chart) })
}

fn shares(review: &Review, rows: &[&Row], frame: Frame) -> IntervalRows {
    let fleet = review.first_pass.rows_of(By::Fleet, Quantity::Clean).next();
    IntervalRows {
        frame,
        axis: share_axis(rows),
        axis_label: "share clean at the first look".to_owned(),
        reference: fleet
            .and_then(|row| row.estimate)
            .map(|value| Reference { value, label: "fleet".to_owned() }),
        columns: vec!["first looks".to_owned(), "flags".to_owned()],
        panels: Vec::new(),
    }
}

fn line(row: &Row, label: String) -> IntervalRow {
    IntervalRow { label, mark: mark(row), texts: vec![whole(Some(row.n)), words(&row.flags)] }
}
