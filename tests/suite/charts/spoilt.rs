//! Numbers that are none, or enormous, in every place where a number can stand: a picture comes out all the same.

use motetrail::charts::*;
use resvg::usvg::roxmltree::Document;

use super::sample::{Words, account, intervals, matrix, savings, stacked};
use super::sample_lines::{curves, funnel, quarters, weeks};
use super::sample_pairs::pairs;
use super::sample_path::path;
use super::sample_purchases::{fans, inputs, sets};

fn spoil(mark: &mut Mark, bad: f64) {
    *mark = Mark { value: Some(bad), low: Some(bad), high: Some(-bad), look: Look::Confounded };
}

fn rows(bad: f64, axis: &Axis) -> [String; 5] {
    let mut shares = intervals(3, Words::Plain, axis.clone());
    spoil(&mut shares.panels[0].rows[1].mark, bad);
    shares.reference = Some(Reference { value: bad, label: "reference".to_owned() });
    let mut money = savings(3, Words::Plain);
    (money.rows[0].gain, money.rows[1].cost) = (Some(bad), Some(bad));
    spoil(&mut money.rows[2].net, bad);
    let mut split = stacked(3, Words::Plain);
    split.rows[0].shares[1] = Some(bad);
    let mut cells = matrix(3, Words::Plain);
    cells.rows[1].cells[2].value = Some(bad);
    let mut changes = pairs(8, Words::Plain);
    for panel in &mut changes.panels {
        (panel.axis, panel.change_axis, panel.no_change) = (axis.clone(), axis.clone(), bad);
        (panel.above[0].before, panel.below[0].now) = (Some(bad), Some(bad));
        spoil(&mut panel.below[1].change, bad);
    }
    let (shares, changes) = (interval_rows(&shares), dot_pairs(&changes));
    [shares, ranked_saving(&money), stacked_bars(&split), grid(&cells), changes]
}

fn lines(bad: f64, axis: &Axis) -> [String; 5] {
    let mut time = PointsOverTime { axis: axis.clone(), ..weeks(3, Words::Plain) };
    let point = &mut time.points[1];
    (point.at, point.centre, point.lower, point.upper) = (bad, Some(bad), Some(bad), Some(bad));
    spoil(&mut time.points[2].mark, bad);
    let mut scatter = ScatterFunnel { x: axis.clone(), y: axis.clone(), ..funnel(3, Words::Plain) };
    (scatter.points[0].x, scatter.points[1].y) = (bad, bad);
    scatter.curves[0].points[1] = (bad, bad);
    let mut quarter = Trend { axis: axis.clone(), ..quarters(3, Words::Plain) };
    spoil(&mut quarter.periods[1].mark, bad);
    let mut cycle = Steps { axis: axis.clone(), ..curves(2, Words::Plain) };
    cycle.series[0].points[9] = StepPoint { x: bad, value: bad, low: Some(bad), high: Some(bad) };
    cycle.series[1].points[3].value = bad;
    cycle.shade = Some(Shade { from: bad, to: -bad, label: "shade".to_owned() });
    cycle.at_risk[0].counts.push((bad, u64::MAX));
    if let Some(lower) = &mut cycle.lower {
        lower.series[0].marks[0].0 = bad;
        lower.series[0].fitted[2] = (bad, bad);
    }
    let mut way = Stations { axis: axis.clone(), ..path(3, Words::Plain) };
    for stretch in way.stations.iter_mut().flat_map(|s| s.again.iter_mut().chain(&mut s.onward)) {
        stretch.share = Some(bad);
        stretch.pair.iter_mut().flatten().for_each(|mark| spoil(mark, bad));
    }
    let [time, scatter, quarter, cycle] =
        [points_over_time(&time), scatter_funnel(&scatter), trend(&quarter), steps(&cycle)];
    [time, scatter, quarter, cycle, stations(&way)]
}

fn purchases(bad: f64) -> [String; 3] {
    let mut fan = fans(3, Words::Plain);
    let points = &mut fan.panels[0].points;
    (points[3].month, points[5].value) = (bad, bad);
    (points[7].low, points[9].high) = (Some(bad), Some(bad));
    spoil(&mut fan.panels[1].payback, bad);
    let mut bars = inputs(3, Words::Plain);
    bars.panels[0].middle = Some(bad);
    (bars.panels[0].bars[0].at_low, bars.panels[0].bars[1].at_high) = (Some(bad), Some(bad));
    let mut steps = sets(3, Words::Plain);
    (steps.steps[0].cost, steps.steps[1].worth, steps.steps[2].low) = (bad, bad, Some(bad));
    steps.budget = Some(Reference { value: bad, label: "budget".to_owned() });
    [cash_fan(&fan), tornado(&bars), ladder(&steps)]
}

#[test]
fn numbers_that_are_none_or_enormous_stop_nothing() {
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, f64::MAX, f64::MIN, 1e-320, 0.0, -1.0] {
        let amount = Axis::Amount { unit: "EUR".to_owned() };
        for axis in [
            Axis::Share { from: 0.0, to: 1.0 },
            Axis::Ratio,
            amount,
            Axis::Share { from: bad, to: bad },
        ] {
            for svg in rows(bad, &axis).into_iter().chain(lines(bad, &axis)).chain(purchases(bad)) {
                assert!(Document::parse(&svg).is_ok(), "{bad}");
                assert!(!svg.contains("NaN") && svg.len() < 150_000, "{bad}, {}", svg.len());
            }
        }
    }
}

#[test]
fn the_largest_counts_fit_their_columns() {
    let mut files = account(3, Words::Plain);
    files.rows[1].counts = vec![u64::MAX; 4];
    assert!(Document::parse(&account_bars(&files)).is_ok());
}

#[test]
fn lists_shorter_than_their_headings_leave_the_rest_empty() {
    let mut split = stacked(2, Words::Plain);
    (split.rows[0].shares, split.rows[1].texts) = (vec![Some(0.4)], vec![]);
    let mut cells = matrix(2, Words::Plain);
    cells.rows[0].cells.truncate(1);
    let mut files = account(2, Words::Plain);
    files.rows[0].counts.clear();
    for svg in [stacked_bars(&split), grid(&cells), account_bars(&files)] {
        assert!(Document::parse(&svg).is_ok());
    }
}
