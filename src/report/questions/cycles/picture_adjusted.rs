//! The share passed by cycle if each method had been used on the same end faces.

use crate::charts::{Axis, Shade, StepPoint, StepSeries, Steps, steps};
use crate::measures::Review;
use crate::measures::cycles::{By, Quantity, Row};
use crate::report::page::picture::{Picture, frame};
use crate::report::words::months::looked_back;
use crate::report::words::number::Amount;

/// Lines that can be told apart.
const MOST_LINES: usize = 4;

/// Adjusted curves, a line a method; none with fewer than two methods.
pub(in crate::report) fn adjusted(review: &Review) -> Option<Picture> {
    let table = &review.cycles;
    let rows: Vec<&Row> = table.rows_of(By::Treatment, Quantity::AdjustedPassedByCycle).collect();
    let methods = by_cycles(&rows);
    let names: Vec<&String> = methods.iter().take(MOST_LINES).collect();
    if names.len() < 2 {
        return None;
    }
    let drawn = format!(
        "Share passed by cleaning cycle if each method had been used on all end faces that were cleaned, over {}",
        looked_back(review)
    );
    let rarer = match methods.len() - names.len() {
        0 => String::new(),
        left => format!(" {left} rarer methods are in tables/cycles.csv."),
    };
    let caption = format!(
        "From the regression on cycle, method, stage, family and zone, for the mix of end faces observed; rejection \
         left out.{rarer}"
    );
    let chart = Steps {
        frame: frame(review, title(review, &rows, &names), &drawn, &caption),
        x_label: "cleaning cycles".to_owned(),
        whole_x: true,
        axis: Axis::Share { from: 0.0, to: 1.0 },
        axis_label: "share passed".to_owned(),
        series: names.iter().map(|name| line(&rows, name)).collect(),
        shade: Some(Shade { from: 3.0, to: 5.0, label: "common practice".to_owned() }),
        at_risk_label: String::new(),
        at_risk: Vec::new(),
        lower: None,
    };
    Some(Picture { name: "adjusted-by-method", svg: steps(&chart) })
}

/// The methods, the one with most cycles first.
fn by_cycles(rows: &[&Row]) -> Vec<String> {
    let first = rows.iter().filter(|row| row.own.cycle == Some(1));
    let mut methods: Vec<(u64, String)> =
        first.filter_map(|row| Some((row.own.at_risk?, method(row).to_owned()))).collect();
    methods.sort_by(|a, b| b.0.cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
    methods.into_iter().map(|(_, name)| name).collect()
}

fn of<'a>(rows: &'a [&'a Row], name: &'a str) -> impl Iterator<Item = &'a &'a Row> {
    rows.iter().filter(move |row| method(row) == name)
}

fn method(row: &Row) -> &str {
    row.group.treatment.as_deref().unwrap_or("unknown")
}

/// What each method would have passed at the first cycle, where they differ most.
fn title(review: &Review, rows: &[&Row], names: &[&String]) -> String {
    let first = |name: &&String| {
        let row = of(rows, name).find(|row| row.own.cycle == Some(1))?;
        Some(format!("{name} {}", Amount::of(row).full(&review.currency)))
    };
    let said: Vec<String> = names.iter().filter_map(first).collect();
    format!("Stage, family, zone and cycle alike, passed by the first cycle: {}", said.join(", "))
}

fn line(rows: &[&Row], name: &str) -> StepSeries {
    let points = of(rows, name).filter_map(|row| {
        Some(StepPoint {
            x: row.own.cycle.map(f64::from)?,
            value: row.estimate?,
            low: row.low,
            high: row.high,
        })
    });
    StepSeries { label: name.to_owned(), dashed: false, points: points.collect() }
}
