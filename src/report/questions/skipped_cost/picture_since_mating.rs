//! Cumulative hazard of the first contamination-linked fault since mating, a line a class of coverage.

use crate::charts::{Axis, RiskRow, StepPoint, StepSeries, Steps, steps};
use crate::measures::skipped_cost::{By, Quantity, Row, Table};
use crate::measures::{Review, coverage};
use crate::report::page::picture::{Picture, frame};
use crate::report::questions::coverage::picture::CLASSES;
use crate::report::words::label::part;
use crate::report::words::months::looked_back;
use crate::report::words::number::Amount;

/// Days between two numbers at risk.
const RISK_STEP: f64 = 15.0;

/// One class: its label and its rows by day.
type Class<'a> = (&'static str, Vec<(f64, &'a Row)>);

/// The lines of all classes that have points.
pub(in crate::report) fn since_mating(review: &Review) -> Option<Picture> {
    let table = &review.skipped_cost;
    let classes = classes(table);
    if classes.is_empty() {
        return None;
    }
    let drawn = format!(
        "First contamination-linked fault since mating, matings of {}, by what was seen of their ends",
        looked_back(review)
    );
    let mut caption =
        "Not adjusted: places differ in more than inspection. The rate ratios in the \
                       table compare like with like."
            .to_owned();
    // A class of a few matings would stretch the axis until the others lie flat.
    let (drawn_lines, few): (Vec<Class>, Vec<Class>) = classes.iter().cloned().partition(is_firm);
    if !few.is_empty() && !drawn_lines.is_empty() {
        let labels: Vec<&str> = few.iter().map(|(label, _)| *label).collect();
        caption += &format!(" Too few matings for a line: {}.", labels.join(", "));
    }
    let drawn_lines = if drawn_lines.is_empty() { few } else { drawn_lines };
    let chart = Steps {
        frame: frame(review, title(review, &classes), &drawn, &caption),
        x_label: "days since mating".to_owned(),
        whole_x: true,
        axis: Axis::Amount { unit: "faults per 1,000 matings".to_owned() },
        axis_label: String::new(),
        series: drawn_lines.iter().map(|(label, rows)| line(label, rows)).collect(),
        shade: None,
        at_risk_label: "matings at risk".to_owned(),
        at_risk: classes.iter().map(|(label, rows)| risk(label, rows)).collect(),
        lower: None,
    };
    Some(Picture { name: "faults-since-mating", svg: steps(&chart) })
}

/// Whether a class has enough matings left on its last day.
fn is_firm((_, rows): &Class) -> bool {
    rows.last().is_some_and(|(_, row)| row.is_firm())
}

/// The classes that have rows, in their fixed order; what is not known has no line.
fn classes(table: &Table) -> Vec<Class<'_>> {
    let mut rows: Vec<(f64, &Row)> = table
        .rows_of(By::Coverage, Quantity::CumulativeHazard)
        .filter_map(|row| Some((f64::from(row.own.day?), row)))
        .collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    let known = CLASSES.into_iter().filter(|(class, _, _)| *class != coverage::Quantity::Unknown);
    let of = known.map(|(class, label, _)| {
        let is_of = |(_, row): &&(f64, &Row)| part(row, "coverage") == Some(class.word());
        (label, rows.iter().filter(is_of).copied().collect())
    });
    of.filter(|(_, rows): &Class| !rows.is_empty()).collect()
}

/// What each class has come to on its last day.
fn title(review: &Review, classes: &[Class]) -> String {
    let said = classes.iter().filter_map(|(label, rows)| {
        let (_, last) = rows.last().filter(|(_, row)| row.is_firm())?;
        let amount = Amount::of(last);
        let scale = amount.scale(&review.currency);
        Some(format!("{} ({}) with {label}", amount.value_on(&scale), amount.interval_on(&scale)))
    });
    let said: Vec<String> = said.take(3).collect();
    if said.is_empty() {
        return "Too few matings to follow faults since mating".to_owned();
    }
    format!("Linked faults by day {} per 1,000 matings: {}", review.horizon_days, said.join(", "))
}

fn line(label: &str, rows: &[(f64, &Row)]) -> StepSeries {
    let points = rows.iter().filter_map(|(x, row)| {
        Some(StepPoint { x: *x, value: row.estimate?, low: row.low, high: row.high })
    });
    StepSeries { label: label.to_owned(), dashed: false, points: points.collect() }
}

/// Numbers at risk, at most one in [`RISK_STEP`] days.
fn risk(label: &str, rows: &[(f64, &Row)]) -> RiskRow {
    let mut counts: Vec<(f64, u64)> = Vec::new();
    for (day, row) in rows {
        let is_due = counts.last().is_none_or(|(last, _)| day - last >= RISK_STEP);
        if let Some(count) = row.own.at_risk.filter(|_| is_due) {
            counts.push((*day, count.max(0) as u64));
        }
    }
    RiskRow { label: label.to_owned(), counts }
}
