//! One quantity quarter by quarter.

use super::picture::{Picture, frame, mark, share_axis};
use crate::charts::{Axis, Period, Trend, trend};
use crate::measures::{Review, Row, Unit};
use crate::report::words::label::{label, over_time as by_time, says};
use crate::report::words::number::{Amount, whole};

/// What the trend of a quantity is called.
#[derive(Clone, Copy, Debug)]
pub(in crate::report) struct OverTime {
    pub picture: &'static str,
    pub table: &'static str,
    pub quantity: &'static str,
    /// What is drawn.
    pub drawn: &'static str,
    /// What n counts.
    pub counted: &'static str,
}

/// "81.2 % (80.4 to 82.0) in 2026-Q2".
fn said(row: &Row) -> String {
    let amount = Amount::of(row);
    let scale = amount.scale("");
    let unit = if row.unit == Unit::Share { "\u{202F}%" } else { "" };
    let (value, interval) = (amount.value_on(&scale), amount.interval_on(&scale));
    format!("{value}{unit} ({interval}) in {}", label(row))
}

/// The trend of a quantity; none with fewer than two quarters. Its title names the last two.
pub(in crate::report) fn over_time(
    review: &Review,
    named: OverTime,
    what: &str,
    caption: &str,
) -> Option<Picture> {
    let table = review.table(named.table);
    let rows: Vec<&Row> = by_time(table, "quarter", named.quantity)
        .into_iter()
        .filter(|row| says(table, row, "level", "linked"))
        .collect();
    let [.., before, last] = rows.as_slice() else { return None };
    let periods = rows.iter().map(|row| Period {
        label: label(row),
        mark: mark(row),
        text: whole(Some(row.n)),
    });
    let title = format!("{what}: {}, after {}", said(last), said(before));
    let chart = Trend {
        frame: frame(review, title, &format!("{}, by quarter", named.drawn), caption),
        axis: match last.unit {
            Unit::Share => share_axis(&rows),
            unit => Axis::Amount { unit: unit.word().to_owned() },
        },
        axis_label: if last.unit == Unit::Share { "share".to_owned() } else { String::new() },
        reference: None,
        text_label: named.counted.to_owned(),
        periods: periods.collect(),
    };
    Some(Picture { name: named.picture, svg: trend(&chart) })
}
