//! An estimate with its interval: a mark on a thin line, without end caps. How far it may be trusted shows in the
//! mark's shape, never in its colour alone.

use super::canvas::{Anchor, Canvas, Point};
use super::measure::width;
use super::paint::{GREY, Paint, SOFT};
use super::scale::Scale;

/// How far a value may be trusted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Look {
    /// Nothing to say against it: a filled mark.
    #[default]
    Firm,
    /// Few data: hollow.
    Thin,
    /// Its own data say nothing, the value is that of its neighbours: hollow and grey.
    Borrowed,
    /// Something else may explain it: hatched.
    Confounded,
}

impl Look {
    /// The looks that need explaining, in the order of the key.
    pub(in crate::charts) const FLAGGED: [Self; 3] = [Self::Thin, Self::Borrowed, Self::Confounded];

    /// What the key says.
    pub(in crate::charts) const fn words(self) -> &'static str {
        match self {
            Self::Firm => "filled: firm",
            Self::Thin => "hollow: thin, few data, in no ranking",
            Self::Borrowed => "hollow and grey: borrowed from the other rows",
            Self::Confounded => "hatched: confounded, something else may explain it",
        }
    }
}

/// One estimate. Numbers that are not finite count as missing.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Mark {
    /// The estimate, in the numbers of the axis it is drawn on; `None` is drawn as the words "no estimate".
    pub value: Option<f64>,
    /// Low end of its interval.
    pub low: Option<f64>,
    /// High end of its interval.
    pub high: Option<f64>,
    /// How far to trust it.
    pub look: Look,
}

/// Which way a value axis runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    Across,
    Up,
}

impl Way {
    /// The point `along` the value axis and `across` it.
    fn point(self, along: f64, across: f64) -> Point {
        match self {
            Self::Across => (along, across),
            Self::Up => (across, along),
        }
    }
}

/// Radius of a mark, px.
pub const RADIUS: f64 = 4.5;
const THICK: f64 = 1.6;
const NO_ESTIMATE: &str = "no estimate";

impl Mark {
    /// The estimate, if it is a number.
    pub(in crate::charts) fn number(&self) -> Option<f64> {
        finite(self.value)
    }

    /// The ends of the interval, low first, a missing end replaced by the value; `None` without any.
    pub(in crate::charts) fn interval(&self) -> Option<(f64, f64)> {
        let (low, high) = (finite(self.low), finite(self.high));
        if low.is_none() && high.is_none() {
            return None;
        }
        let low_end = low.or(self.number()).or(high)?;
        let high_end = high.or(self.number()).or(low)?;
        Some((low_end.min(high_end), low_end.max(high_end)))
    }

    /// Value and ends, for a scale.
    pub(in crate::charts) fn add_to(&self, values: &mut Vec<f64>, bounds: &mut Vec<f64>) {
        values.extend(self.number());
        bounds.extend(self.interval().into_iter().flat_map(|(low, high)| [low, high]));
    }

    /// Draws the estimate on `scale`, at `across` on the other axis.
    pub(in crate::charts) fn draw(
        &self,
        canvas: &mut Canvas,
        way: Way,
        scale: &Scale,
        across: f64,
        paint: Paint,
    ) {
        let paint = if self.look == Look::Borrowed { GREY } else { paint };
        let middle = self.number().map(|v| scale.at(v));
        if let Some(interval) = self.interval() {
            line(canvas, way, scale, interval, (middle, across), paint);
        }
        match middle {
            Some(along) => symbol(canvas, way.point(along, across), self.look, paint),
            None if way == Way::Across => self.say_missing(canvas, scale, across),
            None => canvas.text((across, scale.ends().0 - 8.0), "–", 13.0, Anchor::Middle, SOFT),
        }
    }

    /// The words for a missing value, next to its interval if it has one.
    fn say_missing(&self, canvas: &mut Canvas, scale: &Scale, y: f64) {
        let (left, right) = scale.ends();
        let wide = width(NO_ESTIMATE, 12.0, false);
        let (x, anchor) = match self.interval() {
            Some((_, high)) if scale.at(high) + 8.0 + wide < right => {
                (scale.at(high) + 8.0, Anchor::Start)
            }
            Some((low, _)) if scale.at(low) - 8.0 - wide > left => {
                (scale.at(low) - 8.0, Anchor::End)
            }
            Some(_) => {
                return canvas.text(
                    ((left + right) / 2.0, y - 6.0),
                    NO_ESTIMATE,
                    11.0,
                    Anchor::Middle,
                    SOFT,
                );
            }
            None => (left + 6.0, Anchor::Start),
        };
        canvas.text((x, y), NO_ESTIMATE, 12.0, anchor, SOFT);
    }
}

/// The interval's line around the mark, with an arrow where it goes on beyond the picture.
fn line(
    canvas: &mut Canvas,
    way: Way,
    scale: &Scale,
    (low, high): (f64, f64),
    (middle, across): (Option<f64>, f64),
    paint: Paint,
) {
    let (start, end) = scale.ends();
    stroke_around(canvas, way, (scale.at(low), scale.at(high)), middle, across, paint);
    if scale.is_below(low) {
        arrow(canvas, way, (start, across), start - end, paint);
    }
    if scale.is_above(high) {
        arrow(canvas, way, (end, across), end - start, paint);
    }
}

/// The interval's line, left open where the mark stands, so that a hollow mark is hollow on any background.
fn stroke_around(
    canvas: &mut Canvas,
    way: Way,
    (from, to): (f64, f64),
    middle: Option<f64>,
    across: f64,
    paint: Paint,
) {
    let (first, last) = (from.min(to), from.max(to));
    let gap = middle.map_or((last, last), |m| (m - RADIUS, m + RADIUS));
    for (a, b) in [(first, gap.0.min(last)), (gap.1.max(first), last)] {
        if a < b {
            canvas.line(way.point(a, across), way.point(b, across), paint, THICK);
        }
    }
}

/// The sign that an interval goes on beyond the picture.
fn arrow(canvas: &mut Canvas, way: Way, (along, across): Point, direction: f64, paint: Paint) {
    let back = along - 6.0 * direction.signum();
    let points =
        [way.point(along, across), way.point(back, across - 3.5), way.point(back, across + 3.5)];
    canvas.area(&points, paint);
}

/// The mark itself.
pub fn symbol(canvas: &mut Canvas, at: Point, look: Look, paint: Paint) {
    match look {
        Look::Firm => canvas.disc(at, RADIUS, paint),
        Look::Thin => canvas.ring(at, RADIUS - 0.7, paint, 1.4),
        Look::Borrowed => canvas.ring(at, RADIUS - 0.7, GREY, 1.4),
        Look::Confounded => {
            canvas.ring(at, RADIUS - 0.5, paint, 1.0);
            for shift in [-2.6, 0.0, 2.6] {
                // Half the chord of a circle at distance `shift` from its centre, along a diagonal.
                let half = ((RADIUS - 0.5).powi(2) - shift * shift).max(0.0).sqrt()
                    * std::f64::consts::FRAC_1_SQRT_2;
                let off = shift * std::f64::consts::FRAC_1_SQRT_2;
                canvas.line(
                    (at.0 + off - half, at.1 + off + half),
                    (at.0 + off + half, at.1 + off - half),
                    paint,
                    1.2,
                );
            }
        }
    }
}

/// `None` for what is not a number.
pub fn finite(value: Option<f64>) -> Option<f64> {
    value.filter(|v| v.is_finite())
}
