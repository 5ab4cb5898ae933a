//! Points in time with a centre line and limits that may vary; signals are ringed and named.

use crate::charts::shell::{
    Anchor, Axis, Canvas, EndLabel, Frame, INK, MARGIN, Mark, Paint, Places, Point, RULE, SMALL,
    SOFT, STRONG, Scale, Sheet, WIDTH, Way, clean, count, end_room, finite, fit, left_axis, listed,
    width, write_ends,
};

/// One point.
#[derive(Clone, Debug, PartialEq)]
pub struct TimePoint {
    /// Time in days, or on any linear scale.
    pub at: f64,
    /// The date, as written on the axis.
    pub label: String,
    /// The estimate; its interval is drawn where there are at most 60 points.
    pub mark: Mark,
    /// Centre line at this point, in the numbers of the y axis.
    pub centre: Option<f64>,
    /// Lower limit at this point, likewise.
    pub lower: Option<f64>,
    /// Upper limit at this point, likewise.
    pub upper: Option<f64>,
    /// What signals here; the point is ringed and these words stand next to it, after its date.
    pub signal: Option<String>,
}

/// Points in time.
#[derive(Clone, Debug, PartialEq)]
pub struct PointsOverTime {
    /// The words around it.
    pub frame: Frame,
    /// The y axis.
    pub axis: Axis,
    /// What the y axis shows.
    pub axis_label: String,
    /// Names the centre line.
    pub centre_label: String,
    /// Names both limits.
    pub limits_label: String,
    /// In order of time; the last 2,000 are drawn.
    pub points: Vec<TimePoint>,
}

const HIGH: f64 = 240.0;
const MOST_POINTS: usize = 2000;
/// More points than this are drawn without their intervals.
const MOST_INTERVALS: usize = 60;

/// Draws points in time. An SVG, 800 px wide.
pub fn points_over_time(chart: &PointsOverTime) -> String {
    let known: Vec<&TimePoint> = chart.points.iter().filter(|p| p.at.is_finite()).collect();
    let points = &known[known.len().saturating_sub(MOST_POINTS)..];
    let (Some(first), Some(last)) = (points.first(), points.last()) else {
        return Sheet::empty(&chart.frame, "No points to draw.");
    };
    let mut sheet = Sheet::open(&chart.frame);
    let (top, bottom) = (sheet.y + 30.0, sheet.y + 30.0 + HIGH);
    let room = end_room([chart.centre_label.as_str(), &chart.limits_label].into_iter(), 170.0);
    let x = Scale::plain(first.at, last.at, (MARGIN + 62.0, WIDTH - MARGIN - room - 30.0));
    let y = y_scale(chart, points, (bottom, top));
    left_axis(
        &mut sheet.canvas,
        &y,
        (x.ends().0 - 10.0, x.ends().1 + 6.0),
        &chart.axis_label,
        16.0,
    );
    let labels = lines(&mut sheet.canvas, chart, points, &x, &y);
    write_ends(&mut sheet.canvas, labels, x.ends().1 + 6.0, (top, bottom));
    draw_points(&mut sheet.canvas, points, &x, &y);
    sheet.y = bottom + 10.0;
    dates(&mut sheet, points, &x);
    let unplaced = signals(&mut sheet.canvas, points, &x, &y);
    if !unplaced.is_empty() {
        sheet.say(&format!("Also signalled: {}.", listed(&unplaced)));
    }
    if known.len() > points.len() {
        sheet.say(&format!(
            "The last {} of {} points.",
            count(points.len() as u64),
            count(known.len() as u64)
        ));
    }
    sheet.close(&chart.frame, points.iter().map(|p| p.mark.look))
}

fn y_scale(chart: &PointsOverTime, points: &[&TimePoint], px: (f64, f64)) -> Scale {
    let (mut values, mut bounds) = (Vec::new(), Vec::new());
    for point in points {
        point.mark.add_to(&mut values, &mut bounds);
        bounds.extend([point.centre, point.lower, point.upper].into_iter().filter_map(finite));
    }
    Scale::new(&chart.axis, &values, &bounds, px)
}

/// Centre line and limits, each level around its point; returns what they are called.
fn lines(
    canvas: &mut Canvas,
    chart: &PointsOverTime,
    points: &[&TimePoint],
    x: &Scale,
    y: &Scale,
) -> Vec<EndLabel> {
    let mut labels = Vec::new();
    let mut draw = |of: fn(&TimePoint) -> Option<f64>, name: Option<&str>, solid: bool| {
        let places: Vec<Point> =
            points.iter().filter_map(|p| Some((x.at(p.at), y.at(finite(of(p))?)))).collect();
        let line = level_around(&places);
        if solid {
            canvas.path(&line, RULE, 1.3);
        } else if points.len() > MOST_INTERVALS {
            // Dashes shorter than the steps would look like noise.
            canvas.path(&line, RULE.at(0.4), 1.0);
        } else {
            canvas.dashes(&line, RULE, 1.1);
        }
        if let (Some(name), Some(end)) = (name, line.last()) {
            let dashed = !solid && points.len() <= MOST_INTERVALS;
            labels.push(EndLabel { text: name.to_owned(), end: *end, paint: RULE, dashed });
        }
    };
    draw(|p| p.centre, Some(&chart.centre_label), true);
    draw(|p| p.upper, Some(&chart.limits_label), false);
    draw(|p| p.lower, None, false);
    labels
}

/// A line that is level from half-way before to half-way behind each point.
fn level_around(places: &[Point]) -> Vec<Point> {
    let mut line = Vec::new();
    for (i, (x, y)) in places.iter().enumerate() {
        let before = if i == 0 { x - 6.0 } else { (places[i - 1].0 + x) / 2.0 };
        let after = places.get(i + 1).map_or(x + 6.0, |next| (next.0 + x) / 2.0);
        line.extend([(before, *y), (after, *y)]);
    }
    line
}

fn draw_points(canvas: &mut Canvas, points: &[&TimePoint], x: &Scale, y: &Scale) {
    let few = points.len() <= MOST_INTERVALS;
    for point in points {
        let paint: Paint = if point.signal.is_some() { STRONG } else { INK.at(0.6) };
        let at = x.at(point.at);
        if few {
            point.mark.draw(canvas, Way::Up, y, at, paint);
        } else if let Some(value) = point.mark.number() {
            canvas.disc((at, y.at(value)), if points.len() > 300 { 1.6 } else { 2.6 }, paint);
        }
    }
}

/// Rings around signals, words next to them; returns what found no place.
fn signals(canvas: &mut Canvas, points: &[&TimePoint], x: &Scale, y: &Scale) -> Vec<String> {
    let place = |p: &TimePoint| Some((x.at(p.at), y.at(p.mark.number()?)));
    let mut places = Places::default();
    for at in points.iter().filter_map(|p| place(p)) {
        places.block(at, 3.0);
    }
    for point in points {
        for limit in [point.lower, point.centre, point.upper].into_iter().filter_map(finite) {
            // The line goes on between points, so that a narrow label must not stand there either.
            for shift in [-6.0, 0.0, 6.0] {
                places.block((x.at(point.at) + shift, y.at(limit)), 3.0);
            }
        }
    }
    let mut unplaced = Vec::new();
    let area = [x.ends().0, y.ends().1 - 8.0, x.ends().1 + 6.0, y.ends().0 + 6.0];
    for point in points {
        let Some(words) = &point.signal else { continue };
        let text = clean(&format!("{} {words}", point.label));
        let Some(at) = place(point) else {
            unplaced.push(text);
            continue;
        };
        canvas.ring(at, 8.0, STRONG, 1.6);
        if !places.write(canvas, at, &text, area) {
            unplaced.push(text);
        }
    }
    unplaced
}

/// The dates under the axis, as many as fit.
fn dates(sheet: &mut Sheet, points: &[&TimePoint], x: &Scale) {
    let (left, right) = x.ends();
    sheet.canvas.line((left - 10.0, sheet.y), (right + 6.0, sheet.y), RULE, 1.0);
    let mut free = f64::NEG_INFINITY;
    for point in points {
        let label = fit(&point.label, SMALL, false, 150.0);
        let (at, half) = (x.at(point.at), width(&label, SMALL, false) / 2.0);
        if at - half >= free.max(0.0) {
            sheet.canvas.line((at, sheet.y), (at, sheet.y + 4.0), RULE, 1.0);
            sheet.canvas.text((at, sheet.y + 14.0), &label, SMALL, Anchor::Middle, SOFT);
            free = at + half + 14.0;
        }
    }
    sheet.y += 26.0;
}
