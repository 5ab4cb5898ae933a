//! Areas that can be told apart without colour: plain, hatched, crossed, open. The drawing backend has no patterns, so
//! a hatch is one broken line through the whole rectangle.

use super::canvas::{Anchor, Canvas, Point, WIDTH};
use super::frame::{MARGIN, SMALL};
use super::measure::{fit, width};
use super::paint::{GREY, Paint, RULE, SECOND, SOFT, STRONG};

/// How the area of a class is filled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fill {
    /// Light grey: context.
    Quiet,
    /// The emphasis colour.
    Strong,
    /// The emphasis colour, hatched.
    StrongHatched,
    /// The second hue, crossed.
    SecondCrossed,
    /// An outline with upright lines: not known.
    Open,
}

/// One class of a split bar.
#[derive(Clone, Debug, PartialEq)]
pub struct Class {
    /// Name, written in the legend or above its column.
    pub label: String,
    /// How it is filled.
    pub fill: Fill,
}

/// Px between the lines of a hatch.
const SPACING: f64 = 6.0;

impl Fill {
    /// Fills the rectangle between two corners, upper left first.
    pub(in crate::charts) fn draw(self, canvas: &mut Canvas, from: Point, to: Point) {
        if to.0 - from.0 < 0.1 || to.1 - from.1 < 0.1 {
            return;
        }
        match self {
            Self::Quiet => canvas.rect(from, to, GREY.at(0.5)),
            Self::Strong => canvas.rect(from, to, STRONG),
            Self::StrongHatched => {
                canvas.rect(from, to, STRONG.at(0.22));
                hatch(canvas, from, to, 1.0, STRONG);
            }
            Self::SecondCrossed => {
                canvas.rect(from, to, SECOND.at(0.35));
                hatch(canvas, from, to, 1.0, SECOND);
                hatch(canvas, from, to, -1.0, SECOND);
            }
            Self::Open => {
                hatch(canvas, from, to, 0.0, RULE.at(0.3));
                canvas.outline((from.0 + 0.5, from.1 + 0.5), (to.0 - 0.5, to.1 - 0.5), RULE, 1.0);
            }
        }
    }
}

/// One line that goes up and down through the rectangle; `slant` 1 leans right, -1 left, 0 is upright.
pub fn hatch(canvas: &mut Canvas, from: Point, to: Point, slant: f64, paint: Paint) {
    let (wide, high) = (to.0 - from.0, to.1 - from.1);
    let run = high * slant.abs();
    let lines = ((wide + run) / SPACING).floor() as usize;
    let mut points = Vec::new();
    for i in 0..lines {
        let foot = SPACING * (i as f64 + 0.5);
        // Ends of the line that stands on `foot`, clipped to the rectangle.
        let low = (foot.min(wide), (foot - wide).max(0.0));
        let top = ((foot - run).max(0.0), foot.min(high));
        let top = if slant == 0.0 { (foot, high) } else { top };
        let place = |(x, up): Point| {
            let x = if slant < 0.0 { x } else { wide - x };
            (from.0 + x, to.1 - up)
        };
        let (a, b) = (place(low), place(top));
        points.extend(if i % 2 == 0 { [a, b] } else { [b, a] });
    }
    canvas.path(&points, paint, 1.0);
}

/// The classes with their swatches, from `left` on, in as many lines as it takes; returns the height used.
pub fn legend(canvas: &mut Canvas, classes: &[Class], left: f64, y: f64) -> f64 {
    let (mut x, mut line) = (left, 0.0);
    for class in classes {
        let label = fit(&class.label, SMALL, false, WIDTH - MARGIN - left - 24.0);
        let wide = 20.0 + width(&label, SMALL, false) + 16.0;
        if x > left && x + wide - 16.0 > WIDTH - MARGIN {
            (x, line) = (left, line + 18.0);
        }
        class.fill.draw(canvas, (x, y + line), (x + 14.0, y + line + 12.0));
        canvas.text((x + 20.0, y + line + 6.0), &label, SMALL, Anchor::Start, SOFT);
        x += wide;
    }
    if classes.is_empty() { 0.0 } else { line + 20.0 }
}
