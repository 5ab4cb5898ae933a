//! What happened to one thing, in time: a lane an outcome, a shape an outcome, upright lines where something divides
//! the time.

use crate::charts::shell::{
    Anchor, Canvas, FAINT, Frame, GREY, INK, MARGIN, Paint, Point, RULE, SMALL, SOFT, STRONG,
    Scale, Sheet, TEXT, WIDTH, count, fit, width,
};

/// How an outcome is drawn: shapes tell them apart without their colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stamp {
    /// What matters: a filled diamond.
    Diamond,
    /// Its opposite: an open circle.
    Ring,
    /// Not known: a short upright stroke.
    Stroke,
}

/// One outcome.
#[derive(Clone, Debug, PartialEq)]
pub struct Lane {
    /// What happened.
    pub label: String,
    /// How each time is drawn.
    pub stamp: Stamp,
    /// When, on the axis' own scale; what is not finite is left out. The last 2,000 are drawn.
    pub at: Vec<f64>,
}

/// What divides the time, or an end of the axis.
#[derive(Clone, Debug, PartialEq)]
pub struct Moment {
    /// When, on the axis' own scale.
    pub at: f64,
    /// What is written there.
    pub label: String,
}

/// Outcomes in time.
#[derive(Clone, Debug, PartialEq)]
pub struct TimeLine {
    /// The words around it.
    pub frame: Frame,
    /// First and last moment of the axis, on a linear scale of the caller's choice.
    pub ends: (f64, f64),
    /// Dates on the axis, in order.
    pub dates: Vec<Moment>,
    /// From the top down; at most 6 are drawn.
    pub lanes: Vec<Lane>,
    /// Upright lines with their words above.
    pub dividers: Vec<Moment>,
}

/// Height of a lane, px.
const LANE: f64 = 34.0;
const MOST_LANES: usize = 6;
const MOST_STAMPS: usize = 2000;
const MOST_DIVIDERS: usize = 8;
const WIDEST_LABEL: f64 = 190.0;
/// Half the size of a stamp, px.
const HALF: f64 = 5.5;

/// Draws outcomes in time. An SVG, 800 px wide.
pub fn time_line(chart: &TimeLine) -> String {
    let lanes = &chart.lanes[..chart.lanes.len().min(MOST_LANES)];
    if !lanes.iter().any(|lane| lane.at.iter().any(|at| at.is_finite())) {
        return Sheet::empty(&chart.frame, "No events to draw.");
    }
    let mut sheet = Sheet::open(&chart.frame);
    let label = lanes.iter().map(|lane| width(&lane.label, TEXT, false)).fold(0.0, f64::max);
    let left = MARGIN + label.min(WIDEST_LABEL) + 16.0;
    let numbers = lanes.iter().map(|lane| width(&number(lane), SMALL, false)).fold(0.0, f64::max);
    let right = WIDTH - MARGIN - numbers.max(24.0) - 16.0;
    let x = Scale::plain(chart.ends.0, chart.ends.1, (left, right));
    let top = sheet.y + 24.0;
    let bottom = top + LANE * lanes.len() as f64;
    dates(&mut sheet.canvas, &chart.dates, &x, (top, bottom));
    dividers(&mut sheet.canvas, &chart.dividers, &x, (top, bottom));
    let mut cut = 0;
    for (row, lane) in lanes.iter().enumerate() {
        let y = top + LANE * (row as f64 + 0.5);
        let canvas = &mut sheet.canvas;
        canvas.line((left, y), (right, y), FAINT, 1.0);
        let words = fit(&lane.label, TEXT, false, WIDEST_LABEL);
        canvas.text((left - 12.0, y), &words, TEXT, Anchor::End, INK);
        canvas.text((WIDTH - MARGIN, y), &number(lane), SMALL, Anchor::End, INK);
        let known: Vec<f64> = lane.at.iter().copied().filter(|at| at.is_finite()).collect();
        let drawn = &known[known.len().saturating_sub(MOST_STAMPS)..];
        cut += known.len() - drawn.len();
        for at in drawn {
            stamp(canvas, (x.at(*at), y), lane.stamp);
        }
    }
    sheet.y = bottom + 24.0;
    if cut > 0 {
        sheet.say(&format!("{} earlier events are not drawn.", count(cut as u64)));
    }
    sheet.close(&chart.frame, std::iter::empty())
}

fn number(lane: &Lane) -> String {
    count(lane.at.iter().filter(|at| at.is_finite()).count() as u64)
}

fn stamp(canvas: &mut Canvas, (x, y): Point, stamp: Stamp) {
    match stamp {
        Stamp::Diamond => {
            canvas.area(&[(x, y - HALF), (x + HALF, y), (x, y + HALF), (x - HALF, y)], STRONG);
        }
        Stamp::Ring => canvas.ring((x, y), HALF - 1.5, INK.at(0.6), 1.2),
        Stamp::Stroke => canvas.line((x, y - HALF), (x, y + HALF), GREY, 1.6),
    }
}

fn dates(canvas: &mut Canvas, dates: &[Moment], x: &Scale, (top, bottom): (f64, f64)) {
    let (left, right) = x.ends();
    canvas.line((left, bottom), (right, bottom), RULE, 1.0);
    let mut free = f64::NEG_INFINITY;
    for date in dates.iter().filter(|date| inside(date, x)) {
        let at = x.at(date.at);
        let words = fit(&date.label, SMALL, false, room(at));
        let half = width(&words, SMALL, false) / 2.0;
        if at - half < free {
            continue;
        }
        canvas.line((at, top), (at, bottom + 4.0), FAINT, 1.0);
        canvas.text((at, bottom + 13.0), &words, SMALL, Anchor::Middle, SOFT);
        free = at + half + 8.0;
    }
}

fn dividers(canvas: &mut Canvas, dividers: &[Moment], x: &Scale, (top, bottom): (f64, f64)) {
    let known = dividers.iter().filter(|divider| inside(divider, x));
    for divider in known.take(MOST_DIVIDERS) {
        let at = x.at(divider.at);
        upright(canvas, at, (top - 8.0, bottom), RULE);
        let words = fit(&divider.label, SMALL, false, WIDTH - 2.0 * MARGIN);
        let half = width(&words, SMALL, false) / 2.0;
        let middle = at.min(WIDTH - MARGIN - half).max(MARGIN + half);
        canvas.text((middle, top - 16.0), &words, SMALL, Anchor::Middle, SOFT);
    }
}

/// The width of a text around `at` that stays in the picture.
fn room(at: f64) -> f64 {
    2.0 * (at - MARGIN).min(WIDTH - MARGIN - at).max(0.0)
}

fn upright(canvas: &mut Canvas, x: f64, (top, bottom): (f64, f64), paint: Paint) {
    canvas.dashes(&[(x, top), (x, bottom)], paint, 1.4);
}

fn inside(moment: &Moment, x: &Scale) -> bool {
    moment.at.is_finite() && !x.is_below(moment.at) && !x.is_above(moment.at)
}
