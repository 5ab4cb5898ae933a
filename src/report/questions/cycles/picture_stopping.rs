//! What an end face costs by the number of cycles after which it is given up, the advised of them marked; how often each
//! is the best when the records are drawn again below.

use crate::charts::{
    Axis, Look, Lower, LowerSeries, Mark, RiskRow, Shade, StepPoint, StepSeries, Steps, steps,
};
use crate::measures::cycles::{By, Quantity, Row};
use crate::measures::{Flag, Review};
use crate::report::page::picture::{Picture, frame};
use crate::report::words::months::looked_back;
use crate::report::words::number::major;

const CAPTION: &str = "Shaded: three to five cycles, common practice. Dashed: beyond the cycles that enough end faces came to, \
    by the fitted chances, and never advised. Below: how often each limit that is reached is the best of these when weeks of \
    sites, or the longer blocks that stand for them, are drawn again.";

/// Steps of the cost per end face by limit; none without prices or cycles.
pub(in crate::report) fn cost_by_limit(review: &Review, title: String) -> Option<Picture> {
    let table = &review.cycles;
    let best = table.rows_of(By::Fleet, Quantity::StoppingLimit).next()?;
    // Giving up at once is in the table; on the axis it would press the rest flat.
    let rows: Vec<&Row> = table
        .rows_of(By::Fleet, Quantity::CostAtLimit)
        .filter(|row| row.own.cycle.is_some_and(|cycle| cycle >= 1))
        .collect();
    let drawn =
        format!("Cost of cleanings, looks and rejects per end face, over {}", looked_back(review));
    let chart = Steps {
        frame: frame(review, title, &drawn, CAPTION),
        x_label: "given up after this many cycles".to_owned(),
        whole_x: true,
        axis: Axis::Amount { unit: review.currency.clone() },
        axis_label: "per end face".to_owned(),
        series: series(&rows, best),
        shade: Some(Shade { from: 3.0, to: 5.0, label: "common practice".to_owned() }),
        at_risk_label: "came to the cycle".to_owned(),
        at_risk: vec![at_risk(&rows)],
        lower: Some(Lower {
            axis: Axis::Share { from: 0.0, to: 1.0 },
            axis_label: "share of resamples in which it is best".to_owned(),
            series: vec![chosen(&rows)],
        }),
    };
    Some(Picture { name: "cost-by-cycle-limit", svg: steps(&chart) })
}

/// The costs observed, the best of them, and those beyond the data.
fn series(rows: &[&Row], best: &Row) -> Vec<StepSeries> {
    let is_beyond = |row: &Row| row.flags.contains(&Flag::BeyondData);
    let points = |wanted: &dyn Fn(&Row) -> bool| -> Vec<StepPoint> {
        let of = rows.iter().filter(|row| wanted(row));
        of.filter_map(|row| {
            Some(StepPoint {
                x: cycle(row)?,
                value: major(row.estimate?),
                low: row.low.map(major),
                high: row.high.map(major),
            })
        })
        .collect()
    };
    let line =
        |label: &str, dashed: bool, points| StepSeries { label: label.to_owned(), dashed, points };
    let mut marked = points(&|row| row.own.cycle == best.own.advised);
    for point in &mut marked {
        (point.low, point.high) = (None, None);
    }
    let all = [
        line("observed", false, points(&|row| !is_beyond(row))),
        line("advised", false, marked),
        line("by the fit", true, points(&is_beyond)),
    ];
    all.into_iter().filter(|series| !series.points.is_empty()).collect()
}

fn at_risk(rows: &[&Row]) -> RiskRow {
    let counts = rows.iter().filter_map(|row| {
        let count = row.own.at_risk?;
        Some((cycle(row)?, count))
    });
    RiskRow { label: "end faces".to_owned(), counts: counts.collect() }
}

fn chosen(rows: &[&Row]) -> LowerSeries {
    let marks = rows.iter().filter_map(|row| {
        let share = row.own.chosen?;
        let mark = Mark { value: Some(share), low: None, high: None, look: Look::Firm };
        Some((cycle(row)?, mark))
    });
    // The only one there: it needs no name.
    LowerSeries { label: String::new(), marks: marks.collect(), fitted: Vec::new() }
}

fn cycle(row: &Row) -> Option<f64> {
    row.own.cycle.map(f64::from)
}
