//! The report's pictures: rows of the review in, one chart each out. Picks, orders and words; computes nothing. A
//! measure without rows has no picture.

use super::links::Links;
use crate::charts::{Axis, Frame, Mark, parted};
use crate::measures::{AnyRow, Review};
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
    /// The picture inside a page, its words as text that wraps, its title a heading of this level.
    pub(in crate::report) fn html(&self, links: Links, level: usize) -> String {
        let name = self.name;
        let files = format!(
            "<p class=\"files\">This picture: <a href=\"{}\">{name}.svg</a>, <a href=\"{}\">{name}.png</a></p>",
            links.file(&format!("charts/{name}.svg")),
            links.file(&format!("charts/{name}.png")),
        );
        // The charts escape every text in the SVG, and the parts taken from it stay as they are.
        let Some(parted) = parted(&self.svg) else {
            return format!("<figure id=\"{name}\">{}{files}</figure>\n", self.svg);
        };
        let below = match parted.caption {
            "" => String::new(),
            caption => format!("<p class=\"below\">{caption}</p>"),
        };
        format!(
            "<figure id=\"{name}\"><figcaption><h{level}>{title}</h{level}><p>{}</p></figcaption>\n\
             <div class=\"picture\" tabindex=\"0\" role=\"region\" aria-label=\"Picture: {}\">{}</div>\n{below}{files}</figure>\n",
            parted.subtitle,
            parted.title.replace('"', "&quot;"),
            parted.svg,
            title = parted.title,
        )
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

/// The axis of shares, in tenths, from where the data begin to where they end; a cut is marked. The intervals of rows that
/// are not firm may run off it, with an arrow: else a row of three looks would squeeze all others.
pub(in crate::report) fn share_axis(rows: &[impl AnyRow]) -> Axis {
    let ends = |row: &dyn AnyRow| {
        let (firm, row) = (row.is_firm(), row.leading());
        let interval = if firm { [row.low, row.high] } else { [None, None] };
        interval.into_iter().chain([row.estimate]).flatten().collect::<Vec<f64>>()
    };
    let ends = rows.iter().flat_map(|row| ends(row));
    share_axis_of(&ends.collect::<Vec<f64>>())
}

/// The same for these shares.
pub(in crate::report) fn share_axis_of(shares: &[f64]) -> Axis {
    let ends = || shares.iter().copied().filter(|end| end.is_finite());
    let low = ends().fold(1.0, f64::min);
    let high = ends().fold(0.0, f64::max);
    let (from, to) = ((low * 10.0 - 0.5).floor() / 10.0, (high * 10.0 + 0.5).ceil() / 10.0);
    let from = if from < 0.15 { 0.0 } else { from };
    let to = if to > 0.85 { 1.0 } else { to };
    if from < to { Axis::Share { from, to } } else { Axis::Share { from: 0.0, to: 1.0 } }
}
