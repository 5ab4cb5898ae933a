//! The share passed by cycle, a line a method, the share rejected below, the chance of passing at each cycle under it.

use crate::charts::{
    Axis, Lower, LowerSeries, RiskRow, Shade, StepPoint, StepSeries, Steps, steps,
};
use crate::measures::{Review, Row, Table};
use crate::report::page::picture::{Picture, frame, mark};
use crate::report::page::section::look_back;
use crate::report::words::label::{by_size, label, part, says};
use crate::report::words::number::{Amount, number};

/// Lines that can be told apart.
const MOST_LINES: usize = 4;

/// Steps of the share passed by cycle.
pub(in crate::report) fn passed(review: &Review) -> Option<Picture> {
    let table = &review.cycles;
    let by = if table.rows_of("treatment", "passed-by-cycle").next().is_some() {
        "treatment"
    } else {
        "fleet"
    };
    let rows = bracketed(table, by, "passed-by-cycle");
    if rows.is_empty() {
        return None;
    }
    let (names, left) = names(&rows, by);
    let drawn = format!(
        "End faces that failed for contamination: share passed by cleaning cycle, over {}",
        look_back(review)
    );
    let chart = Steps {
        frame: frame(review, title(review, table, &rows, by, &names), &drawn, &caption(left)),
        x_label: "cleaning cycles".to_owned(),
        whole_x: true,
        axis: Axis::Share { from: 0.0, to: 1.0 },
        axis_label: "share".to_owned(),
        series: series(table, &rows, by, &names),
        shade: Some(Shade { from: 3.0, to: 5.0, label: "common practice".to_owned() }),
        at_risk_label: "not yet passed".to_owned(),
        at_risk: names.iter().map(|name| at_risk(table, &rows, by, name)).collect(),
        lower: lower(table, by, &names),
    };
    Some(Picture { name: "passed-by-cycle", svg: steps(&chart) })
}

/// A line a method, and the share rejected of all.
fn series(table: &Table, rows: &[&Row], by: &str, names: &[String]) -> Vec<StepSeries> {
    let mut series: Vec<StepSeries> =
        names.iter().map(|name| line(table, rows, by, name, false)).collect();
    let rejected = bracketed(table, "fleet", "rejected-by-cycle");
    if !rejected.is_empty() {
        let line = line(table, &rejected, "fleet", "fleet", true);
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
fn title(review: &Review, table: &Table, rows: &[&Row], by: &str, names: &[String]) -> String {
    let third = |name: &String| {
        let mut of = rows.iter().filter(|row| is_of(row, by, name) && row.is_firm());
        let row = of.find(|row| cycle(table, row) == Some(3.0))?;
        let name = if by == "fleet" { "all methods" } else { name };
        Some(format!("{name} {}", Amount::of(row).full(&review.currency)))
    };
    let said: Vec<String> = names.iter().filter_map(third).collect();
    if said.is_empty() {
        return "Too few end faces to compare methods by cycle".to_owned();
    }
    format!("Passed by the third cycle: {}", said.join(", "))
}

/// Rows in which visits left failing are censored, in order of the cycle.
fn bracketed<'a>(table: &'a Table, by: &'a str, quantity: &'a str) -> Vec<&'a Row> {
    let mut rows: Vec<&Row> = table
        .rows_of(by, quantity)
        .filter(|row| says(table, row, "bracket", "censored"))
        .filter(|row| cycle(table, row).is_some())
        .collect();
    rows.sort_by(|a, b| cycle(table, a).unwrap_or(0.0).total_cmp(&cycle(table, b).unwrap_or(0.0)));
    rows
}

/// The methods drawn, and how many are not.
fn names(rows: &[&Row], by: &str) -> (Vec<String>, usize) {
    if by == "fleet" {
        return (vec!["fleet".to_owned()], 0);
    }
    let mut names = by_size(rows, by);
    let left = names.len().saturating_sub(MOST_LINES);
    names.truncate(MOST_LINES);
    (names, left)
}

fn is_of(row: &Row, by: &str, name: &str) -> bool {
    by == "fleet" || part(row, by).unwrap_or("unknown") == name
}

fn line(table: &Table, rows: &[&Row], by: &str, name: &str, dashed: bool) -> StepSeries {
    let of = rows.iter().filter(|row| is_of(row, by, name));
    let points = of.filter_map(|row| {
        Some(StepPoint {
            x: cycle(table, row)?,
            value: row.estimate?,
            low: row.low,
            high: row.high,
        })
    });
    let label = if by == "fleet" { "all methods".to_owned() } else { name.to_owned() };
    StepSeries { label, dashed, points: points.collect() }
}

fn at_risk(table: &Table, rows: &[&Row], by: &str, name: &str) -> RiskRow {
    let of = rows.iter().filter(|row| is_of(row, by, name));
    let counts = of.filter_map(|row| {
        let count = number(table.own(row, "at_risk"))?;
        Some((cycle(table, row)?, count.max(0.0) as u64))
    });
    let label = if by == "fleet" { "all methods" } else { name };
    RiskRow { label: label.to_owned(), counts: counts.collect() }
}

fn lower(table: &Table, by: &str, names: &[String]) -> Option<Lower> {
    let rows = bracketed(table, by, "hazard");
    let fits = bracketed(table, by, "fitted-hazard");
    let series: Vec<LowerSeries> = names
        .iter()
        .map(|name| {
            let of: Vec<&&Row> = rows.iter().filter(|row| is_of(row, by, name)).collect();
            let marks = of.iter().filter_map(|row| Some((cycle(table, row)?, mark(row))));
            let fitted = fits.iter().filter(|row| is_of(row, by, name));
            let fitted = fitted.filter_map(|row| Some((cycle(table, row)?, row.estimate?)));
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

fn cycle(table: &Table, row: &Row) -> Option<f64> {
    number(table.own(row, "cycle"))
}
