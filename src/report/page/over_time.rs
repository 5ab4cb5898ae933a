//! One quantity quarter by quarter.

use super::picture::{Picture, frame, mark, share_axis};
use crate::charts::{Axis, Period, Trend, trend};
use crate::measures::{AnyRow, Review, Unit};
use crate::report::words::label::{label, oldest_first};
use crate::report::words::number::{Amount, whole};

/// What the trend of a quantity is called.
#[derive(Clone, Copy, Debug)]
pub(in crate::report) struct OverTime {
    pub picture: &'static str,
    /// What is drawn.
    pub drawn: &'static str,
    /// What n counts.
    pub counted: &'static str,
}

/// "81.2 % (80.4 to 82.0) in 2026-Q2".
fn said(row: &impl AnyRow) -> String {
    let amount = Amount::of(row);
    let scale = amount.scale("");
    let unit = if amount.unit == Unit::Share { "\u{202F}%" } else { "" };
    let (value, interval) = (amount.value_on(&scale), amount.interval_on(&scale));
    format!("{value}{unit} ({interval}) in {}", label(row))
}

/// The trend of one quantity, a row a quarter; none with fewer than two quarters. Its title names the last two.
pub(in crate::report) fn over_time<R: AnyRow>(
    review: &Review,
    named: OverTime,
    rows: impl Iterator<Item = R>,
    what: &str,
    caption: &str,
) -> Option<Picture> {
    let rows = oldest_first(rows);
    let [.., before, last] = rows.as_slice() else { return None };
    let periods = rows.iter().map(|row| Period {
        label: label(row),
        mark: mark(row),
        text: whole(Some(row.leading().n)),
    });
    let title = format!("{what}: {}, after {}", said(last), said(before));
    let unit = last.leading().unit;
    let chart = Trend {
        frame: frame(review, title, &format!("{}, by quarter", named.drawn), caption),
        axis: match unit {
            Unit::Share => share_axis(&rows),
            unit => Axis::Amount { unit: unit.word().to_owned() },
        },
        axis_label: if unit == Unit::Share { "share".to_owned() } else { String::new() },
        reference: None,
        text_label: named.counted.to_owned(),
        periods: periods.collect(),
    };
    Some(Picture { name: named.picture, svg: trend(&chart) })
}
