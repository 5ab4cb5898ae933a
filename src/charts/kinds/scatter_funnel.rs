//! Points against size, with lines (a centre, limits, a diagonal); only the points that are to be named are. Over 2,000
//! points the unnamed ones become counts in bins.

use std::collections::BTreeMap;

use crate::charts::shell::{
    Axis, Canvas, EndLabel, Frame, GREY, INK, Look, MARGIN, Places, Point, RULE, STRONG, Scale,
    Sheet, WIDTH, clean, count, end_room, grid_below, inside, left_axis, listed, numbers_below,
    symbol, ticks_across, write_ends,
};

/// A line through the picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// Written at its end; may be empty.
    pub label: String,
    /// Limits are dashed, centres are not.
    pub dashed: bool,
    /// x and y, in order of x.
    pub points: Vec<(f64, f64)>,
}

/// One point.
#[derive(Clone, Debug, PartialEq)]
pub struct FunnelPoint {
    /// Its name.
    pub label: String,
    /// Where on the x axis: a size.
    pub x: f64,
    /// Where on the y axis: a value.
    pub y: f64,
    /// Whether its name is written.
    pub named: bool,
    /// Whether the point is emphasised.
    pub strong: bool,
    /// How far to trust it.
    pub look: Look,
}

/// Points against size.
#[derive(Clone, Debug, PartialEq)]
pub struct ScatterFunnel {
    /// The words around it.
    pub frame: Frame,
    /// The x axis.
    pub x: Axis,
    /// What the x axis shows.
    pub x_label: String,
    /// The y axis.
    pub y: Axis,
    /// What the y axis shows.
    pub y_label: String,
    /// Centre, limits, diagonal.
    pub curves: Vec<Curve>,
    /// The points, in any order.
    pub points: Vec<FunnelPoint>,
}

const HIGH: f64 = 340.0;
const MOST_POINTS: usize = 2000;
/// Names written next to their points at most; the others are listed below.
const MOST_NAMES: usize = 40;
/// Side of a bin, px.
const BIN: f64 = 10.0;

/// Draws points against size. An SVG, 800 px wide.
pub fn scatter_funnel(chart: &ScatterFunnel) -> String {
    let points: Vec<&FunnelPoint> =
        chart.points.iter().filter(|p| p.x.is_finite() && p.y.is_finite()).collect();
    if points.is_empty() {
        return Sheet::empty(&chart.frame, "No points to draw.");
    }
    let mut sheet = Sheet::open(&chart.frame);
    let (top, bottom) = (sheet.y + 30.0, sheet.y + 30.0 + HIGH);
    let room = end_room(chart.curves.iter().map(|c| c.label.as_str()), 170.0);
    let (x, y) =
        scales(chart, &points, (MARGIN + 62.0, WIDTH - MARGIN - room - 30.0), (bottom, top));
    left_axis(&mut sheet.canvas, &y, x.ends(), &chart.y_label, 16.0);
    let ticks = ticks_across(&x);
    grid_below(&mut sheet.canvas, &ticks, &x, (top, bottom));
    let (labels, lines) = curves(&mut sheet.canvas, chart, &x, &y);
    write_ends(&mut sheet.canvas, labels, x.ends().1, (top, bottom));
    let place = |p: &FunnelPoint| (x.at(p.x), y.at(p.y));
    let binned = draw_unnamed(&mut sheet.canvas, &points, &place);
    let unplaced = draw_named(
        &mut sheet.canvas,
        &points,
        &place,
        &lines,
        [x.ends().0, top - 6.0, x.ends().1, bottom],
    );
    sheet.y = bottom + numbers_below(&mut sheet.canvas, &ticks, &x, bottom, Some(&chart.x_label));
    if let Some((number, most)) = binned {
        sheet.say(&format!(
            "{} points drawn as counts in squares; the darkest holds {}.",
            count(number),
            count(most)
        ));
    }
    if !unplaced.is_empty() {
        sheet.say(&format!("Also named: {}.", listed(&unplaced)));
    }
    let looks = points.iter().filter(|p| binned.is_none() || p.named).map(|p| p.look);
    sheet.close(&chart.frame, looks)
}

fn scales(
    chart: &ScatterFunnel,
    points: &[&FunnelPoint],
    across: (f64, f64),
    up: (f64, f64),
) -> (Scale, Scale) {
    // Sizes alone set the x axis: a limit curve may be given far beyond the largest.
    let y_bounds: Vec<f64> = chart.curves.iter().flat_map(|c| &c.points).map(|p| p.1).collect();
    let xs: Vec<f64> = points.iter().map(|p| p.x).collect();
    let ys: Vec<f64> = points.iter().map(|p| p.y).collect();
    (Scale::new(&chart.x, &xs, &[], across), Scale::new(&chart.y, &ys, &y_bounds, up))
}

/// Draws the curves; what they are called, and the points that labels should keep off.
fn curves(
    canvas: &mut Canvas,
    chart: &ScatterFunnel,
    x: &Scale,
    y: &Scale,
) -> (Vec<EndLabel>, Vec<Point>) {
    let (mut labels, mut lines) = (Vec::new(), Vec::new());
    let area = [x.ends().0, y.ends().1, x.ends().1, y.ends().0];
    for curve in &chart.curves {
        let known = curve.points.iter().filter(|p| p.0.is_finite() && p.1.is_finite());
        let line: Vec<Point> = known.map(|p| (x.beyond(p.0), y.beyond(p.1))).collect();
        let pieces = inside(&line, area);
        for piece in &pieces {
            if curve.dashed {
                canvas.dashes(piece, RULE, 1.2);
            } else {
                canvas.path(piece, RULE, 1.4);
            }
        }
        let end = pieces.last().and_then(|piece| piece.last());
        if let Some(end) = end.filter(|_| !curve.label.is_empty()) {
            let (text, dashed) = (curve.label.clone(), curve.dashed);
            labels.push(EndLabel { text, end: *end, paint: RULE, dashed });
        }
        lines.extend(pieces.iter().flat_map(|piece| along(piece)));
    }
    (labels, lines)
}

/// Points along a line, a few px apart.
fn along(line: &[Point]) -> Vec<Point> {
    const EVERY: f64 = 6.0;
    let mut points = Vec::new();
    for pair in line.windows(2) {
        let ((ax, ay), (bx, by)) = (pair[0], pair[1]);
        let steps = ((bx - ax).hypot(by - ay) / EVERY).ceil().clamp(1.0, 400.0) as usize;
        let part = |step: usize| step as f64 / steps as f64;
        points.extend((0..steps).map(|at| (ax + (bx - ax) * part(at), ay + (by - ay) * part(at))));
    }
    points
}

/// Draws the points without a name; the number of binned points and the largest bin, if they had to be binned.
fn draw_unnamed(
    canvas: &mut Canvas,
    points: &[&FunnelPoint],
    place: &dyn Fn(&FunnelPoint) -> Point,
) -> Option<(u64, u64)> {
    let unnamed = points.iter().filter(|p| !p.named);
    if points.len() <= MOST_POINTS {
        for point in unnamed {
            match point.look {
                Look::Firm => canvas.disc(place(point), 3.2, GREY.at(0.75)),
                look => symbol(canvas, place(point), look, GREY),
            }
        }
        return None;
    }
    let mut bins: BTreeMap<(i64, i64), u64> = BTreeMap::new();
    for (x, y) in unnamed.map(|p| place(p)) {
        *bins.entry(((x / BIN).floor() as i64, (y / BIN).floor() as i64)).or_default() += 1;
    }
    let most = bins.values().copied().max().unwrap_or(0);
    for ((column, row), number) in &bins {
        let (x, y) = (*column as f64 * BIN, *row as f64 * BIN);
        // The root, so that a single point can still be seen next to a full bin.
        let share = (*number as f64 / most as f64).sqrt();
        canvas.rect((x, y), (x + BIN - 1.0, y + BIN - 1.0), INK.at(0.08 + 0.4 * share));
    }
    Some((bins.values().sum(), most))
}

/// Draws and names the points to be named; returns the names that found no place.
fn draw_named(
    canvas: &mut Canvas,
    points: &[&FunnelPoint],
    place: &dyn Fn(&FunnelPoint) -> Point,
    lines: &[Point],
    area: [f64; 4],
) -> Vec<String> {
    let named: Vec<&&FunnelPoint> = points.iter().filter(|p| p.named).collect();
    let mut places = Places::default();
    lines.iter().for_each(|at| places.avoid(*at, 1.5));
    if points.len() <= MOST_POINTS {
        for point in points.iter().filter(|p| !p.named) {
            places.avoid(place(point), 4.0);
        }
    }
    for point in &named {
        symbol(canvas, place(point), point.look, if point.strong { STRONG } else { GREY });
        places.block(place(point), 5.0);
    }
    let mut unplaced = Vec::new();
    for (i, point) in named.iter().enumerate() {
        if i >= MOST_NAMES || !places.write(canvas, place(point), &point.label, area) {
            unplaced.push(clean(&point.label));
        }
    }
    unplaced
}
