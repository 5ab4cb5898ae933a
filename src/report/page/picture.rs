//! The report's pictures: rows of the review in, one chart each out. Picks, orders and words; computes nothing. A
//! measure without rows has no picture.

use crate::charts::{Axis, Frame, Mark};
use crate::measures::{AnyRow, Review};

use super::escape::html;
use crate::report::words::flags::look;
use crate::report::words::number::level;

/// One picture.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::report) struct Picture {
    /// Name of its files.
    pub name: &'static str,
    pub svg: String,
}

impl Picture {
    /// The picture inside the page.
    pub(in crate::report) fn html(&self) -> String {
        // The SVG carries its own title and description; the charts escape every text in it.
        format!("<figure id=\"{}\">{}</figure>\n", html(self.name), self.svg)
    }
}

/// The words around a picture; the subtitle gets the interval level.
pub(in crate::report) fn frame(
    review: &Review,
    title: String,
    drawn: &str,
    caption: &str,
) -> Frame {
    let subtitle = format!("{drawn}; {} intervals", level(review.level));
    let description = format!("{title}. {subtitle}.");
    Frame { title, subtitle, caption: caption.to_owned(), description }
}

/// The mark of a row.
pub(in crate::report) fn mark(row: &impl AnyRow) -> Mark {
    let row = row.leading();
    Mark { value: row.estimate, low: row.low, high: row.high, look: look(row.flags) }
}

/// The axis of shares that their intervals need, in tenths; all of it where they spread over most of it.
pub(in crate::report) fn share_axis(rows: &[impl AnyRow]) -> Axis {
    let rows = rows.iter().map(AnyRow::leading);
    let ends = rows.flat_map(|row| [row.low, row.estimate, row.high]).flatten();
    share_axis_of(&ends.collect::<Vec<f64>>())
}

/// The same for these shares.
pub(in crate::report) fn share_axis_of(shares: &[f64]) -> Axis {
    let ends = || shares.iter().copied().filter(|end| end.is_finite());
    let low = ends().fold(1.0, f64::min);
    let high = ends().fold(0.0, f64::max);
    let (from, to) = ((low * 10.0 - 0.5).floor() / 10.0, (high * 10.0 + 0.5).ceil() / 10.0);
    let from = if from < 0.3 { 0.0 } else { from };
    let to = if to > 0.7 { 1.0 } else { to };
    if from < to { Axis::Share { from, to } } else { Axis::Share { from: 0.0, to: 1.0 } }
}
