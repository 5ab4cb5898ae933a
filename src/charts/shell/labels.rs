//! Places for labels inside a picture, so that none lies on another.

use super::canvas::{Anchor, Canvas, Point, WIDTH};
use super::frame::{MARGIN, SMALL};
use super::measure::{fit, width};
use super::number::count;
use super::paint::{FAINT, INK, Paint};

/// Px between two labels that stand one above the other.
const PITCH: f64 = 15.0;
/// Places so near to a point that a label there is read as its own; those after them are far.
const NEAR: usize = 8;
/// Px that a line from an end to its label bridges at most.
const MOST_LED: f64 = 250.0;
/// Names listed in words at most.
const MOST_LISTED: usize = 20;

/// Rectangles that are taken: left, top, right, bottom.
#[derive(Debug, Default)]
pub struct Places {
    taken: Vec<[f64; 4]>,
    avoided: Vec<[f64; 4]>,
}

impl Places {
    /// Keeps labels off the square of `radius` around `at`.
    pub fn block(&mut self, at: Point, radius: f64) {
        self.taken.push(square(at, radius));
    }

    /// Keeps labels off the square around `at` where there is another place.
    pub fn avoid(&mut self, at: Point, radius: f64) {
        self.avoided.push(square(at, radius));
    }

    /// Writes `text` near `at` where it lies on nothing and inside `area` (left, top, right, bottom); false where
    /// there is no such place, and then nothing is written. A label on an avoided line is better than one far off, which
    /// could be taken for another point's and has a line to its own.
    pub fn write(&mut self, canvas: &mut Canvas, at: Point, text: &str, area: [f64; 4]) -> bool {
        let text = fit(text, SMALL, false, (area[2] - area[0]) * 0.45);
        let wide = width(&text, SMALL, false);
        let frame =
            |(left, middle): Point| [left - 2.0, middle - 8.0, left + wide + 2.0, middle + 8.0];
        let free = |place: &Point| {
            let f = frame(*place);
            let inside = f[0] >= area[0] && f[1] >= area[1] && f[2] <= area[2] && f[3] <= area[3];
            inside && !self.taken.iter().any(|other| overlap(&f, other))
        };
        let crossed = |place: &Point| {
            self.avoided.iter().filter(|other| overlap(&frame(*place), other)).count()
        };
        let candidates = candidates(at, wide);
        let best_of = |places: &[Point]| places.iter().copied().filter(&free).min_by_key(&crossed);
        let near = best_of(&candidates[..NEAR]);
        let best = near.or_else(|| best_of(&candidates[NEAR..]));
        if let Some(place) = best {
            self.taken.push(frame(place));
            if near.is_none() {
                let end =
                    (if place.0 > at.0 { place.0 - 2.0 } else { place.0 + wide + 2.0 }, place.1);
                let start = (at.0 + 0.25 * (end.0 - at.0), at.1 + 0.25 * (end.1 - at.1));
                canvas.line(start, end, FAINT, 1.0);
            }
            canvas.text(place, &text, SMALL, Anchor::Start, INK);
        }
        best.is_some()
    }
}

/// Names that found no place, as a list in words: twenty of them, then how many more.
pub fn listed(names: &[String]) -> String {
    let shown = &names[..names.len().min(MOST_LISTED)];
    let mut text =
        shown.iter().map(|name| fit(name, SMALL, false, 240.0)).collect::<Vec<_>>().join("; ");
    if names.len() > shown.len() {
        text.push_str(&format!("; and {} more", count((names.len() - shown.len()) as u64)));
    }
    text
}

fn square(at: Point, radius: f64) -> [f64; 4] {
    [at.0 - radius, at.1 - radius, at.0 + radius, at.1 + radius]
}

/// Left end and middle of a text around a point, the best place first.
fn candidates((x, y): Point, wide: f64) -> [Point; 12] {
    let (right, left, centre) = (x + 13.0, x - 13.0 - wide, x - wide / 2.0);
    [
        (right, y),
        (left, y),
        (centre, y - 19.0),
        (centre, y + 19.0),
        (right, y - 15.0),
        (left, y - 15.0),
        (right, y + 15.0),
        (left, y + 15.0),
        (right, y - 30.0),
        (left, y - 30.0),
        (right, y + 30.0),
        (left, y + 30.0),
    ]
}

fn overlap(a: &[f64; 4], b: &[f64; 4]) -> bool {
    a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
}

/// What a line is called, to be written at its end.
#[derive(Clone, Debug)]
pub struct EndLabel {
    /// What is written.
    pub text: String,
    /// Where the line ends.
    pub end: Point,
    /// In which colour.
    pub paint: Paint,
    /// The line is broken.
    pub dashed: bool,
}

/// Room that end labels need, px, at most `most`; 0 without any.
pub fn end_room<'a>(texts: impl Iterator<Item = &'a str>, most: f64) -> f64 {
    texts.map(|t| width(t, SMALL, false)).fold(0.0, f64::max).min(most)
}

/// Writes labels from `x` on, each as near to its line's end as its neighbours allow, between `top` and `bottom`; returns
/// how far below `bottom` they reach where there are too many.
pub fn write_ends(
    canvas: &mut Canvas,
    mut labels: Vec<EndLabel>,
    x: f64,
    (top, bottom): (f64, f64),
) -> f64 {
    labels.sort_by(|a, b| a.end.1.total_cmp(&b.end.1));
    let places = spread(&labels.iter().map(|l| l.end.1).collect::<Vec<_>>(), top, bottom);
    for (label, y) in labels.iter().zip(&places) {
        let text = fit(&label.text, SMALL, false, WIDTH - MARGIN - x - 22.0);
        // Across half a chart it would be read as a line of its own.
        if x - label.end.0 < MOST_LED {
            canvas.line(label.end, (x + 4.0, *y), FAINT.at(0.35), 1.0);
        }
        let sample = [(x + 4.0, *y), (x + 16.0, *y)];
        if label.dashed {
            canvas.dashes(&sample, label.paint, 2.0);
        } else {
            canvas.path(&sample, label.paint, 2.0);
        }
        canvas.text((x + 20.0, *y), &text, SMALL, Anchor::Start, INK);
    }
    places.last().map_or(0.0, |y| (y + 8.0 - bottom).max(0.0))
}

/// Positions for labels that want to be at `wanted` (in order), at least a pitch apart: pushed down from `top`, then,
/// where they reach beyond `bottom`, up again.
fn spread(wanted: &[f64], top: f64, bottom: f64) -> Vec<f64> {
    let mut places: Vec<f64> = Vec::with_capacity(wanted.len());
    for y in wanted {
        let least = places.last().map_or(top, |above| above + PITCH);
        places.push(y.max(least));
    }
    let mut most = bottom.max(top + PITCH * (wanted.len() as f64 - 1.0));
    for place in places.iter_mut().rev() {
        *place = place.min(most);
        most = *place - PITCH;
    }
    places
}
