//! All linked faults since mating, first or not: the mean number by day.

use super::picked::linked_by;
use crate::charts::{Axis, RiskRow, StepPoint, StepSeries, Steps, steps};
use crate::measures::Review;
use crate::measures::fault_rates::{By, Quantity, Row};
use crate::report::page::picture::{Picture, frame};
use crate::report::page::section::counted;
use crate::report::words::months::looked_back;
use crate::report::words::number::Amount;

/// Days between two numbers at risk.
const RISK_STEP: u32 = 15;

/// The curve of the fleet; none without a fault.
pub(in crate::report) fn recurring_faults(review: &Review) -> Option<Picture> {
    let table = &review.fault_rates;
    let curve = linked_by(table, By::Fleet, Quantity::MeanCumulative);
    let mut rows: Vec<(u32, &Row)> = curve.filter_map(|row| Some((row.own.day?, row))).collect();
    rows.sort_by_key(|(day, _)| *day);
    let (_, last) = *rows.last().filter(|_| rows.len() > 1)?;
    let points = rows.iter().filter_map(|(day, row)| {
        Some(StepPoint { x: f64::from(*day), value: row.estimate?, low: row.low, high: row.high })
    });
    let mut at_risk: Vec<(u32, u64)> = Vec::new();
    for (day, row) in &rows {
        let is_due = at_risk.last().is_none_or(|(before, _)| day - before >= RISK_STEP);
        at_risk.extend(row.own.at_risk.filter(|_| is_due).map(|count| (*day, count)));
    }
    let at_risk = at_risk.into_iter().map(|(day, count)| (f64::from(day), count)).collect();
    let drawn = format!(
        "Mean number of contamination-linked faults since mating, first or not, {} of {}",
        counted(last.n, "mating", "matings"),
        looked_back(review)
    );
    let chart = Steps {
        frame: frame(
            review,
            title(review, last),
            &drawn,
            "A mating that failed and was not made again stays in the count: its later faults add to the curve.",
        ),
        x_label: "days since mating".to_owned(),
        whole_x: true,
        axis: Axis::Amount { unit: "faults per 1,000 matings".to_owned() },
        axis_label: String::new(),
        series: vec![StepSeries {
            label: "all linked".to_owned(),
            dashed: false,
            points: points.collect(),
        }],
        shade: None,
        at_risk_label: "matings at risk".to_owned(),
        at_risk: vec![RiskRow { label: "fleet".to_owned(), counts: at_risk }],
        lower: None,
    };
    Some(Picture { name: "faults-coming-back", svg: steps(&chart) })
}

/// What the curve comes to, and how much of it was not the first.
fn title(review: &Review, last: &Row) -> String {
    let table = &review.fault_rates;
    let amount = Amount::of(last);
    let scale = amount.scale("");
    let repeats = linked_by(table, By::Fleet, Quantity::RepeatFaults).next();
    let said = match repeats.filter(|row| row.is_firm()) {
        Some(row) if row.events == Some(0) => {
            format!("; none of {} was a second one", counted(row.n, "fault", "faults"))
        }
        Some(row) => {
            format!(
                "; {} of these faults were not the first",
                Amount::of(row).full(&review.currency)
            )
        }
        None => String::new(),
    };
    if !last.is_firm() {
        return "Too few matings to follow faults that come back".to_owned();
    }
    format!(
        "All linked faults by day {} per 1,000 matings: {} ({}){said}",
        review.horizon_days,
        amount.value_on(&scale),
        amount.interval_on(&scale)
    )
}
