//! Step curves with bands, named at their ends; a shaded stretch; numbers at risk under the axis; below that, if
//! wanted, a panel of marks with fitted lines on the same x axis.

use crate::charts::shell::{
    Anchor, Axis, Canvas, EndLabel, Frame, INK, Look, MARGIN, Mark, Paint, Point, SMALL, SOFT,
    Scale, Sheet, WIDTH, Way, count, end_room, finite, fit, fixed, grid_below, left_axis,
    name_above, numbers_below, ticks_across, width, write_ends,
};

/// A value that holds from its x to the next point's.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StepPoint {
    /// Where on the x axis the value begins to hold.
    pub x: f64,
    /// The value, in the axis' numbers.
    pub value: f64,
    /// Low end of its interval.
    pub low: Option<f64>,
    /// High end of its interval.
    pub high: Option<f64>,
}

/// One curve.
#[derive(Clone, Debug, PartialEq)]
pub struct StepSeries {
    /// Name of the curve, written at its end.
    pub label: String,
    /// Belongs to the second group, drawn dashed; the n-th of both groups share a hue.
    pub dashed: bool,
    /// In order of x.
    pub points: Vec<StepPoint>,
}

/// A shaded stretch of the x axis.
#[derive(Clone, Debug, PartialEq)]
pub struct Shade {
    /// Left end, in the numbers of the x axis.
    pub from: f64,
    /// Right end, likewise.
    pub to: f64,
    /// Written at its top.
    pub label: String,
}

/// Numbers at risk of one series.
#[derive(Clone, Debug, PartialEq)]
pub struct RiskRow {
    /// Name of the series.
    pub label: String,
    /// Places on the x axis and how many are at risk there.
    pub counts: Vec<(f64, u64)>,
}

/// Marks and a fitted line in the lower panel.
#[derive(Clone, Debug, PartialEq)]
pub struct LowerSeries {
    /// Written at the end of its line; the only series needs none.
    pub label: String,
    /// Places on the x axis and the estimates there.
    pub marks: Vec<(f64, Mark)>,
    /// Points of a fitted line, x and value; may be empty.
    pub fitted: Vec<(f64, f64)>,
}

/// The lower panel.
#[derive(Clone, Debug, PartialEq)]
pub struct Lower {
    /// Its y axis.
    pub axis: Axis,
    /// What its y axis shows.
    pub axis_label: String,
    /// Its series.
    pub series: Vec<LowerSeries>,
}

/// Step curves.
#[derive(Clone, Debug, PartialEq)]
pub struct Steps {
    /// The words around it.
    pub frame: Frame,
    /// What the x axis shows.
    pub x_label: String,
    /// Whole numbers only on the x axis.
    pub whole_x: bool,
    /// The y axis.
    pub axis: Axis,
    /// What the y axis shows.
    pub axis_label: String,
    /// The curves.
    pub series: Vec<StepSeries>,
    /// A stretch to be shaded.
    pub shade: Option<Shade>,
    /// Heading of the table of numbers, e.g. "at risk".
    pub at_risk_label: String,
    /// Rows of that table; without any there is no table.
    pub at_risk: Vec<RiskRow>,
    /// The lower panel.
    pub lower: Option<Lower>,
}

/// Height of the curves, px.
const HIGH: f64 = 250.0;
/// Height of the lower panel, px.
const LOWER_HIGH: f64 = 150.0;
/// Px between the marks of two series at one x.
const APART: f64 = 9.0;

/// Draws step curves. An SVG, 800 px wide.
pub fn steps(chart: &Steps) -> String {
    if chart.series.iter().all(|s| known(s).is_empty()) {
        return Sheet::empty(&chart.frame, "No curves to draw.");
    }
    let mut sheet = Sheet::open(&chart.frame);
    let x = x_scale(chart);
    let (top, bottom) = (sheet.y + 44.0, sheet.y + 44.0 + HIGH);
    let y = y_scale(chart, (bottom, top));
    let places = risk_places(chart, &x);
    let ticks = match (places.is_empty(), chart.whole_x) {
        // Numbers stand under a tick each.
        (false, _) => places.iter().map(|at| (*at, fixed(*at, 0))).collect(),
        (true, true) => x.whole_ticks(40.0),
        (true, false) => ticks_across(&x),
    };
    draw_shade(&mut sheet.canvas, chart, &x, (top, bottom));
    left_axis(&mut sheet.canvas, &y, x.ends(), &chart.axis_label, 28.0);
    grid_below(&mut sheet.canvas, &ticks, &x, (top, bottom));
    let labels = draw_series(&mut sheet.canvas, chart, &x, &y);
    let over = write_ends(&mut sheet.canvas, labels, x.ends().1, (top, bottom));
    sheet.y = bottom
        + numbers_below(&mut sheet.canvas, &ticks, &x, bottom, Some(&chart.x_label)).max(over);
    at_risk(&mut sheet, chart, &x, &places);
    let mut looks: Vec<Look> = Vec::new();
    if let Some(lower) = &chart.lower {
        draw_lower(&mut sheet, lower, &x, &ticks, &chart.x_label);
        looks.extend(lower.series.iter().flat_map(|s| s.marks.iter().map(|(_, m)| m.look)));
    }
    sheet.close(&chart.frame, looks.into_iter())
}

/// The points of a curve that are numbers.
fn known(series: &StepSeries) -> Vec<StepPoint> {
    series.points.iter().filter(|p| p.x.is_finite() && p.value.is_finite()).copied().collect()
}

fn x_scale(chart: &Steps) -> Scale {
    let lower = chart.lower.iter().flat_map(|l| &l.series);
    let lower =
        lower.flat_map(|s| s.marks.iter().map(|(x, _)| *x).chain(s.fitted.iter().map(|(x, _)| *x)));
    let upper = chart.series.iter().flat_map(known).map(|p| p.x);
    let (low, high) = upper
        .chain(lower)
        .filter(|x| x.is_finite())
        .fold((f64::MAX, f64::MIN), |(a, b), x| (a.min(x), b.max(x)));
    let names = chart.series.iter().map(|s| s.label.as_str());
    let names =
        names.chain(chart.lower.iter().flat_map(|l| l.series.iter().map(|s| s.label.as_str())));
    let risk = end_room(
        chart.at_risk.iter().map(|r| r.label.as_str()).chain([chart.at_risk_label.as_str()]),
        130.0,
    );
    let left = MARGIN + (risk + 26.0).max(56.0);
    let right = WIDTH - MARGIN - 24.0 - end_room(names, 190.0);
    // The last whole number needs room for the value that holds there.
    let (low, high) = if chart.whole_x { (low - 0.5, high + 0.5) } else { (low, high) };
    Scale::plain(low, high, (left, right))
}

fn y_scale(chart: &Steps, px: (f64, f64)) -> Scale {
    let points: Vec<StepPoint> = chart.series.iter().flat_map(known).collect();
    let values: Vec<f64> = points.iter().map(|p| p.value).collect();
    let bounds: Vec<f64> = points.iter().flat_map(|p| [p.low, p.high]).filter_map(finite).collect();
    Scale::new(&chart.axis, &values, &bounds, px)
}

fn draw_shade(canvas: &mut Canvas, chart: &Steps, x: &Scale, (top, bottom): (f64, f64)) {
    let Some(shade) = chart.shade.as_ref().filter(|s| s.from.is_finite() && s.to.is_finite())
    else {
        return;
    };
    let half = if chart.whole_x { 0.5 } else { 0.0 };
    let (from, to) = (x.at(shade.from - half), x.at(shade.to + half));
    canvas.rect((from.min(to), top - 14.0), (from.max(to), bottom), INK.at(0.07));
    name_above(canvas, &shade.label, ((from + to) / 2.0, top - 6.0), x.ends());
}

fn draw_series(canvas: &mut Canvas, chart: &Steps, x: &Scale, y: &Scale) -> Vec<EndLabel> {
    let mut labels = Vec::new();
    let mut seen = [0, 0];
    for series in &chart.series {
        let group = usize::from(series.dashed);
        let paint = Paint::series(seen[group]);
        seen[group] += 1;
        let points = known(series);
        let Some(last) = points.last() else { continue };
        let end = if chart.whole_x { x.at(last.x + 0.5) } else { x.at(last.x) };
        band(canvas, &points, (x, y), end, paint);
        let line = stairs(points.iter().map(|p| (x.at(p.x), y.at(p.value))), end);
        if series.dashed {
            canvas.dashes(&line, paint, 1.8);
        } else {
            canvas.path(&line, paint, 2.0);
        }
        let (text, dashed) = (series.label.clone(), series.dashed);
        labels.push(EndLabel { text, end: (end, y.at(last.value)), paint, dashed });
    }
    labels
}

/// The corners of a line that goes level from each point to the next one's x; the last value holds until `end`.
fn stairs(points: impl Iterator<Item = Point>, end: f64) -> Vec<Point> {
    let mut line: Vec<Point> = Vec::new();
    for (x, y) in points {
        if let Some((_, before)) = line.last().copied() {
            line.push((x, before));
        }
        line.push((x, y));
    }
    if let Some((_, last)) = line.last().copied() {
        line.push((end, last));
    }
    line
}

fn band(
    canvas: &mut Canvas,
    points: &[StepPoint],
    (x, y): (&Scale, &Scale),
    end: f64,
    paint: Paint,
) {
    let bounded: Vec<(f64, f64, f64)> = points
        .iter()
        .filter_map(|p| Some((x.at(p.x), y.at(finite(p.low)?), y.at(finite(p.high)?))))
        .collect();
    let mut outline = stairs(bounded.iter().map(|(x, low, _)| (*x, *low)), end);
    let mut upper = stairs(bounded.iter().map(|(x, _, high)| (*x, *high)), end);
    upper.reverse();
    outline.extend(upper);
    canvas.area(&outline, paint.at(0.13));
}

/// Where numbers stand under the axis: at the x the caller gives; where they would touch, some are left out.
fn risk_places(chart: &Steps, x: &Scale) -> Vec<f64> {
    let mut places: Vec<f64> = chart
        .at_risk
        .iter()
        .flat_map(|r| r.counts.iter().map(|(at, _)| *at))
        .filter(|at| at.is_finite())
        .collect();
    places.retain(|at| !x.is_below(*at) && !x.is_above(*at));
    places.sort_by(f64::total_cmp);
    places.dedup();
    let widest = widest(chart).max(20.0);
    let mut free = f64::NEG_INFINITY;
    places.retain(|at| {
        let fits = x.at(*at) - widest / 2.0 >= free;
        if fits {
            free = x.at(*at) + widest / 2.0 + 8.0;
        }
        fits
    });
    places
}

/// Width of the widest number, px.
fn widest(chart: &Steps) -> f64 {
    let numbers = chart.at_risk.iter().flat_map(|row| &row.counts);
    numbers.map(|(_, n)| width(&count(*n), SMALL, false)).fold(0.0, f64::max)
}

/// The table of numbers under the axis.
fn at_risk(sheet: &mut Sheet, chart: &Steps, x: &Scale, places: &[f64]) {
    if chart.at_risk.is_empty() {
        return;
    }
    sheet.y += 8.0;
    let room = x.ends().0 - MARGIN - widest(chart) / 2.0 - 4.0;
    sheet.canvas.text(
        (MARGIN, sheet.y + 8.0),
        &fit(&chart.at_risk_label, SMALL, false, 300.0),
        SMALL,
        Anchor::Start,
        SOFT,
    );
    sheet.y += 18.0;
    for row in &chart.at_risk {
        let label = fit(&row.label, SMALL, false, room.max(40.0));
        sheet.canvas.text((MARGIN, sheet.y + 8.0), &label, SMALL, Anchor::Start, INK);
        for (at, number) in row.counts.iter().filter(|(at, _)| places.contains(at)) {
            sheet.canvas.text(
                (x.at(*at), sheet.y + 8.0),
                &count(*number),
                SMALL,
                Anchor::Middle,
                INK,
            );
        }
        sheet.y += 17.0;
    }
}

/// The panel under the curves, on their x axis: estimates at their x with intervals, and fitted lines through them.
fn draw_lower(sheet: &mut Sheet, lower: &Lower, x: &Scale, ticks: &[(f64, String)], x_label: &str) {
    sheet.y += 44.0;
    let (top, bottom) = (sheet.y, sheet.y + LOWER_HIGH);
    let (mut values, mut bounds) = (Vec::new(), Vec::new());
    for series in &lower.series {
        series.marks.iter().for_each(|(_, mark)| mark.add_to(&mut values, &mut bounds));
        values.extend(series.fitted.iter().map(|(_, y)| *y));
    }
    let y = Scale::new(&lower.axis, &values, &bounds, (bottom, top));
    left_axis(&mut sheet.canvas, &y, x.ends(), &lower.axis_label, 16.0);
    grid_below(&mut sheet.canvas, ticks, x, (top, bottom));
    let number = lower.series.len();
    let mut labels = Vec::new();
    for (i, series) in lower.series.iter().enumerate() {
        let paint = Paint::series(i);
        let shift = APART * (i as f64 - (number as f64 - 1.0) / 2.0);
        for (at, mark) in series.marks.iter().filter(|(at, _)| at.is_finite()) {
            mark.draw(&mut sheet.canvas, Way::Up, &y, x.at(*at) + shift, paint);
        }
        let line = fitted_line(series, x, &y);
        sheet.canvas.path(&line, paint, 1.4);
        if series.label.is_empty() {
            continue;
        }
        labels.extend(
            line.last().copied().or_else(|| last_mark(series, x, &y)).map(|end| EndLabel {
                text: series.label.clone(),
                end,
                paint,
                dashed: false,
            }),
        );
    }
    let over = write_ends(&mut sheet.canvas, labels, x.ends().1, (top, bottom));
    sheet.y = bottom + numbers_below(&mut sheet.canvas, ticks, x, bottom, Some(x_label)).max(over);
}

fn fitted_line(series: &LowerSeries, x: &Scale, y: &Scale) -> Vec<Point> {
    let known = series.fitted.iter().filter(|(a, b)| a.is_finite() && b.is_finite());
    known.map(|(a, b)| (x.at(*a), y.at(*b))).collect()
}

fn last_mark(series: &LowerSeries, x: &Scale, y: &Scale) -> Option<Point> {
    series.marks.iter().rev().find_map(|(at, mark)| Some((x.at(*at), y.at(mark.number()?))))
}
