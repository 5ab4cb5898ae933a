//! Axes: grid lines with their numbers, the label with the unit, the mark of a cut.

use super::canvas::{Anchor, Canvas, Point, WIDTH};
use super::frame::{MARGIN, SMALL};
use super::measure::{fit, width, wrap};
use super::paint::{FAINT, INK, RULE, SOFT};
use super::scale::{Reference, Scale};

/// Px between ticks, across and up.
const ACROSS: f64 = 72.0;
const UP: f64 = 42.0;

/// Upright grid lines of an x axis from `top` to `bottom`.
pub fn grid_below(
    canvas: &mut Canvas,
    ticks: &[(f64, String)],
    scale: &Scale,
    (top, bottom): (f64, f64),
) {
    for (value, _) in ticks {
        let x = scale.at(*value);
        canvas.line((x, top), (x, bottom), FAINT, 1.0);
    }
}

/// The numbers of an x axis under `y`, and its label if it is to be written here; returns the height used.
pub fn numbers_below(
    canvas: &mut Canvas,
    ticks: &[(f64, String)],
    scale: &Scale,
    y: f64,
    label: Option<&str>,
) -> f64 {
    let (left, right) = scale.ends();
    canvas.line((left, y), (right, y), RULE, 1.0);
    let mut free = f64::NEG_INFINITY;
    for (value, text) in ticks {
        let (x, half) = (scale.at(*value), width(text, SMALL, false) / 2.0);
        if x - half >= free {
            canvas.text((x, y + 12.0), text, SMALL, Anchor::Middle, SOFT);
            free = x + half + 6.0;
        }
    }
    for end in scale.cut_ends() {
        cut_mark(canvas, (end - 2.0, y));
    }
    let mut used = 22.0;
    let label = label.map(|words| scale.label(words)).unwrap_or_default();
    for line in wrap(&label, SMALL, false, WIDTH - MARGIN - left, 2) {
        canvas.text((left, y + used + 8.0), &line, SMALL, Anchor::Start, SOFT);
        used += 16.0;
    }
    used
}

/// Ticks of an x axis.
pub fn ticks_across(scale: &Scale) -> Vec<(f64, String)> {
    scale.ticks(ACROSS)
}

/// Ticks of a y axis.
pub(super) fn ticks_up(scale: &Scale) -> Vec<(f64, String)> {
    scale.ticks(UP)
}

/// Level grid lines of a y axis with their numbers left of `left`; its label stands `above` px over the
/// top, where it can be read level.
pub fn left_axis(
    canvas: &mut Canvas,
    scale: &Scale,
    (left, right): (f64, f64),
    label: &str,
    above: f64,
) {
    for (value, text) in ticks_up(scale) {
        let y = scale.at(value);
        canvas.line((left, y), (right, y), FAINT, 1.0);
        let text = fit(&text, SMALL, false, left - MARGIN);
        canvas.text((left - 6.0, y), &text, SMALL, Anchor::End, SOFT);
    }
    for end in scale.cut_ends() {
        cut_mark(canvas, (left - 2.0, end));
    }
    let label = fit(&scale.label(label), SMALL, false, WIDTH - 2.0 * MARGIN);
    canvas.text((MARGIN, scale.ends().1 - above), &label, SMALL, Anchor::Start, SOFT);
}

/// An upright line at the value that rows are compared with, its label above it.
pub fn reference_across(
    canvas: &mut Canvas,
    reference: &Reference,
    scale: &Scale,
    (top, bottom): (f64, f64),
) {
    if !reference.value.is_finite()
        || scale.is_below(reference.value)
        || scale.is_above(reference.value)
    {
        return;
    }
    let (left, right) = scale.ends();
    let x = scale.at(reference.value);
    canvas.line((x, top), (x, bottom), RULE, 1.4);
    name_above(canvas, &reference.label, (x, top - 8.0), (left, right));
}

/// The name of something on an x axis from `left` to `right`, centred on it as far as the axis has room.
pub fn name_above(canvas: &mut Canvas, name: &str, (x, y): Point, (left, right): (f64, f64)) {
    let name = fit(name, SMALL, false, right - left);
    let half = width(&name, SMALL, false) / 2.0;
    let x = x.clamp(left + half, (right - half).max(left + half));
    canvas.text((x, y), &name, SMALL, Anchor::Middle, SOFT);
}

/// Two short slanted strokes: the axis does not reach its natural end here.
fn cut_mark(canvas: &mut Canvas, (x, y): (f64, f64)) {
    for shift in [0.0, 4.0] {
        canvas.line((x + shift - 2.0, y + 4.0), (x + shift + 2.0, y - 4.0), INK, 1.2);
    }
}
