//! The share passed by cycle, a line a method, the share rejected below, the chance of passing at each cycle under it.

use crate::charts::{
    Axis, Lower, LowerSeries, RiskRow, Shade, StepPoint, StepSeries, Steps, steps,
};
use crate::measures::cycles::{Bracket, By, Quantity, Row, Table};
use crate::measures::{AnyRow, Review};
use crate::report::page::picture::{Picture, frame, mark};
use crate::report::words::label::{by_size, label};
use crate::report::words::months::looked_back;
use crate::report::words::number::Amount;

/// Lines that can be told apart.
const MOST_LINES: usize = 4;

/// Steps of the share passed by cycle.
pub(in crate::report) fn passed(review: &Review) -> Option<Picture> {
    let table = &review.cycles;
    let by_method = table.rows_of(By::Treatment, Quantity::PassedByCycle).next().is_some();
    let by = if by_method { By::Treatment } else { By::Fleet };
    let rows = bracketed(table, by, Quantity::PassedByCycle);
    if rows.is_empty() {
        return None;
    }
    let (names, left) = names(&rows, by);
    let drawn = format!(
        "End faces that failed for contamination: share passed by cleaning cycle, over {}",
        looked_back(review)
    );
    let chart = Steps {
        frame: frame(review, title(review, &rows, by, &names), &drawn, &caption(left)),
        x_label: "cleaning cycles".to_owned(),
        whole_x: true,
        axis: Axis::Share { from: 0.0, to: 1.0 },
        axis_label: "share".to_owned(),
        series: series(table, &rows, by, &names),
        shade: Some(Shade { from: 3.0, to: 5.0, label: "common practice".to_owned() }),
        at_risk_label: "not yet passed".to_owned(),
        at_risk: names.iter().map(|name| at_risk(&rows, by, name)).collect(),
        lower: lower(table, by, &names),
    };
    Some(Picture { name: "passed-by-cycle", svg: steps(&chart) })
}

/// A line a method, and the share rejected of all.
fn series(table: &Table, rows: &[&Row], by: By, names: &[String]) -> Vec<StepSeries> {
    let mut series: Vec<StepSeries> =
        names.iter().map(|name| line(rows, by, name, false)).collect();
    let rejected = bracketed(table, By::Fleet, Quantity::RejectedByCycle);
    if !rejected.is_empty() {
        let line = line(&rejected, By::Fleet, "fleet", true);
        series.push(StepSeries { label: "rejected, all methods".to_owned(), ..line });
    }
    series
}

fn caption(left: usize) -> String {
    let rarer = match left {
        0 => String::new(),
        left => format!(" {left} rarer methods are in tables/cycles.csv."),
    };
    format!(
        "Shaded: three to five cycles, common practice. Visits left failing count as not yet passed. Lines below: the \
         beta-geometric fit.{rarer}"
    )
}

/// The share passed by the third cycle, method by method.
fn title(review: &Review, rows: &[&Row], by: By, names: &[String]) -> String {
    let third = |name: &String| {
        let mut of = rows.iter().filter(|row| is_of(row, by, name) && row.is_firm());
        let row = of.find(|row| row.own.cycle == Some(3))?;
        let name = if by == By::Fleet { "all methods" } else { name };
        Some(format!("{name} {}", Amount::of(row).full(&review.currency)))
    };
    let said: Vec<String> = names.iter().filter_map(third).collect();
    if said.is_empty() {
        return "Too few end faces to compare methods by cycle".to_owned();
    }
    format!("Passed by the third cycle: {}", said.join(", "))
}

/// Rows in which visits left failing are censored, in order of the cycle.
fn bracketed(table: &Table, by: By, quantity: Quantity) -> Vec<&Row> {
    let rows = table.rows_of(by, quantity).filter(|row| row.own.cycle.is_some());
    let mut rows: Vec<&Row> =
        rows.filter(|row| row.own.bracket == Some(Bracket::Censored)).collect();
    rows.sort_by_key(|row| row.own.cycle);
    rows
}

/// The methods drawn, and how many are not.
fn names(rows: &[&Row], by: By) -> (Vec<String>, usize) {
    if by == By::Fleet {
        return (vec!["fleet".to_owned()], 0);
    }
    let mut names = by_size(rows, by.word());
    let left = names.len().saturating_sub(MOST_LINES);
    names.truncate(MOST_LINES);
    (names, left)
}

fn is_of(row: &Row, by: By, name: &str) -> bool {
    by == By::Fleet || row.group.treatment.as_deref().unwrap_or("unknown") == name
}

fn line(rows: &[&Row], by: By, name: &str, dashed: bool) -> StepSeries {
    let of = rows.iter().filter(|row| is_of(row, by, name));
    let points = of.filter_map(|row| {
        Some(StepPoint { x: cycle(row)?, value: row.estimate?, low: row.low, high: row.high })
    });
    let label = if by == By::Fleet { "all methods".to_owned() } else { name.to_owned() };
    StepSeries { label, dashed, points: points.collect() }
}

fn at_risk(rows: &[&Row], by: By, name: &str) -> RiskRow {
    let of = rows.iter().filter(|row| is_of(row, by, name));
    let counts = of.filter_map(|row| {
        let count = row.own.at_risk?;
        Some((cycle(row)?, count))
    });
    let label = if by == By::Fleet { "all methods" } else { name };
    RiskRow { label: label.to_owned(), counts: counts.collect() }
}

fn lower(table: &Table, by: By, names: &[String]) -> Option<Lower> {
    let rows = bracketed(table, by, Quantity::Hazard);
    let fits = bracketed(table, by, Quantity::FittedHazard);
    let series: Vec<LowerSeries> = names
        .iter()
        .map(|name| {
            let of: Vec<&&Row> = rows.iter().filter(|row| is_of(row, by, name)).collect();
            let marks = of.iter().filter_map(|row| Some((cycle(row)?, mark(row))));
            let fitted = fits.iter().filter(|row| is_of(row, by, name));
            let fitted = fitted.filter_map(|row| Some((cycle(row)?, row.estimate?)));
            let first = of.first().map_or_else(|| name.clone(), label);
            LowerSeries { label: first, marks: marks.collect(), fitted: fitted.collect() }
        })
        .filter(|series| !series.marks.is_empty())
        .collect();
    (!series.is_empty()).then(|| Lower {
        axis: Axis::Share { from: 0.0, to: 1.0 },
        axis_label: "share of each cycle that passes".to_owned(),
        series,
    })
}

fn cycle(row: &Row) -> Option<f64> {
    row.own.cycle.map(f64::from)
}
