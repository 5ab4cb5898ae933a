//! Cash over the months, summed up and discounted: a line with its band a proposal, all on one scale, the
//! zero line, and the month in which it is paid back.

use crate::charts::shell::{
    Anchor, Axis, Canvas, FAINT, Frame, GREY, INK, Look, MARGIN, Mark, Point, RULE, SMALL, SOFT,
    STRONG, Scale, Sheet, TEXT, WIDTH, Way, fit, fixed, grid_below, numbers_below, wrap,
};

/// Cash up to one month.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CashPoint {
    /// Months after the start.
    pub month: f64,
    /// Discounted cash up to the end of that month, in the chart's `unit`.
    pub value: f64,
    /// Low end of its interval.
    pub low: Option<f64>,
    /// High end of its interval.
    pub high: Option<f64>,
}

/// One proposal.
#[derive(Clone, Debug, PartialEq)]
pub struct CashPanel {
    /// Name of the proposal.
    pub title: String,
    /// What is said of it under its name; may be empty.
    pub note: String,
    /// Cash by month, in order of the months.
    pub points: Vec<CashPoint>,
    /// The month in which it is paid back, with its interval, in months.
    pub payback: Mark,
    /// How far to trust the whole panel.
    pub look: Look,
}

/// Curves of cash.
#[derive(Clone, Debug, PartialEq)]
pub struct CashFan {
    /// The words around it.
    pub frame: Frame,
    /// Unit of the amounts; the axis shortens thousands.
    pub unit: String,
    /// One a proposal, best first; six are drawn.
    pub panels: Vec<CashPanel>,
    /// What is known of the panels beyond: written after "and 3 more".
    pub rest: String,
}

const HIGH: f64 = 110.0;
/// Px that a number of the money axis takes: panels are low.
const UP: f64 = 24.0;
const MOST_PANELS: usize = 6;
const COLUMNS: usize = 2;
/// Px that a column takes, and left of its plot for the numbers of the axis.
const COLUMN: f64 = (WIDTH - 2.0 * MARGIN) / COLUMNS as f64;
const NUMBERS: f64 = 48.0;
/// A month mark every half-year where there is room, else every year or more.
const MONTH_STEPS: [f64; 5] = [6.0, 12.0, 24.0, 60.0, 120.0];

/// Draws curves of cash. An SVG, 800 px wide.
pub fn cash_fan(chart: &CashFan) -> String {
    let panels = &chart.panels[..chart.panels.len().min(MOST_PANELS)];
    let last = panels.iter().flat_map(|panel| &panel.points).map(|point| point.month);
    let last = last.filter(|month| month.is_finite()).fold(0.0, f64::max);
    if last <= 0.0 {
        return Sheet::empty(&chart.frame, "No cash to draw.");
    }
    let mut sheet = Sheet::open(&chart.frame);
    let named = "Every panel has a scale of its own.";
    sheet.canvas.text((MARGIN, sheet.y + 4.0), named, SMALL, Anchor::Start, SOFT);
    sheet.y += 20.0;
    for row in panels.chunks(COLUMNS) {
        draw_row(&mut sheet, chart, row, last);
    }
    sheet.and_more(chart.panels.len() - panels.len(), &chart.rest);
    sheet.close(&chart.frame, panels.iter().map(|panel| panel.look))
}

/// Panels side by side, their plots on one level.
fn draw_row(sheet: &mut Sheet, chart: &CashFan, row: &[CashPanel], last: f64) {
    let room = COLUMN - 16.0;
    let words = |panel: &CashPanel| {
        (wrap(&panel.title, TEXT, true, room, 2), wrap(&panel.note, SMALL, false, room, 3))
    };
    let texts: Vec<_> = row.iter().map(words).collect();
    let above = |(title, note): &(Vec<String>, Vec<String>)| {
        title.len() as f64 * 18.0 + note.len() as f64 * 16.0
    };
    let above = texts.iter().map(above).fold(0.0, f64::max) + 26.0;
    for (number, (panel, (title, note))) in row.iter().zip(&texts).enumerate() {
        let start = MARGIN + COLUMN * number as f64;
        let mut y = sheet.y;
        for line in title {
            sheet.canvas.bold((start, y + 8.0), line, TEXT, Anchor::Start, INK);
            y += 18.0;
        }
        for line in note {
            sheet.canvas.text((start, y + 8.0), line, SMALL, Anchor::Start, SOFT);
            y += 16.0;
        }
        let x = Scale::plain(0.0, last, (start + NUMBERS, start + COLUMN - 24.0));
        let top = sheet.y + above;
        let y = y_scale(chart, panel, (top + HIGH, top));
        let unit = fit(&y.label(""), SMALL, false, COLUMN / 2.0);
        sheet.canvas.text((start, top - 14.0), &unit, SMALL, Anchor::Start, SOFT);
        draw_panel(&mut sheet.canvas, panel, &x, &y);
    }
    sheet.y += above + HIGH + 40.0;
}

fn y_scale(chart: &CashFan, panel: &CashPanel, px: (f64, f64)) -> Scale {
    let points = || panel.points.iter();
    let values: Vec<f64> = points().map(|point| point.value).collect();
    let bounds: Vec<f64> = points().flat_map(|p| [p.low, p.high]).flatten().collect();
    Scale::new(&Axis::Amount { unit: chart.unit.clone() }, &values, &bounds, px)
}

fn draw_panel(canvas: &mut Canvas, panel: &CashPanel, x: &Scale, y: &Scale) {
    let ((left, right), (bottom, top)) = (x.ends(), y.ends());
    let ticks = months(x);
    grid_below(canvas, &ticks, x, (top, bottom));
    for (value, text) in y.ticks(UP) {
        let at = y.at(value);
        canvas.line((left, at), (right, at), FAINT, 1.0);
        let text = fit(&text, SMALL, false, NUMBERS - 6.0);
        canvas.text((left - 6.0, at), &text, SMALL, Anchor::End, SOFT);
    }
    let firm = panel.look == Look::Firm;
    let paint = if firm { STRONG } else { GREY };
    let known: Vec<&CashPoint> =
        panel.points.iter().filter(|p| p.month.is_finite() && p.value.is_finite()).collect();
    let at = |month: f64, value: f64| -> Point { (x.at(month), y.at(value)) };
    let edge = |of: fn(&CashPoint) -> Option<f64>| {
        known.iter().map(move |p| (p.month, of(p).filter(|end| end.is_finite()).unwrap_or(p.value)))
    };
    let mut band: Vec<Point> = edge(|p| p.low).map(|(m, v)| at(m, v)).collect();
    let upper: Vec<Point> = edge(|p| p.high).map(|(m, v)| at(m, v)).collect();
    band.extend(upper.into_iter().rev());
    canvas.area(&band, paint.at(0.22));
    let zero = y.at(0.0);
    canvas.line((left, zero), (right, zero), RULE, 1.6);
    let line: Vec<Point> = known.iter().map(|p| at(p.month, p.value)).collect();
    if firm {
        canvas.path(&line, paint, 2.0);
    } else {
        canvas.dashes(&line, paint, 1.6);
    }
    if panel.payback.number().is_some() {
        let mark = Mark { look: panel.look, ..panel.payback };
        mark.draw(canvas, Way::Across, x, zero, INK);
    }
    numbers_below(canvas, &ticks, x, bottom, None);
}

/// Ticks at whole years where there is room for no more.
fn months(x: &Scale) -> Vec<(f64, String)> {
    let (last, wide) = (x.high, x.ends().1 - x.ends().0);
    let fits = |step: &&f64| last / **step * 46.0 <= wide;
    let step = MONTH_STEPS.iter().find(fits).copied().unwrap_or(last / 10.0);
    let count = (last / step).floor().min(100.0) as u32;
    (0..=count).map(|at| (f64::from(at) * step, fixed(f64::from(at) * step, 0))).collect()
}
