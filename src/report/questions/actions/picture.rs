//! Months before and after the start, of the first action that has them.

use crate::charts::{Axis, Frame, Mark, Period, Reference, Trend, trend};
use crate::measures::Review;
use crate::measures::actions::{Quantity, Row};
use crate::report::page::picture::Picture;
use crate::report::words::action::{amount, named};
use crate::report::words::flags::look;
use crate::report::words::number::{Amount, level, whole};

/// Months drawn before the start, and after it.
const DRAWN: (i64, i64) = (-6, 9);

/// The months of the first action and aim; none where none has months.
pub(super) fn by_month(review: &Review) -> Option<Picture> {
    let table = &review.actions;
    let leading = table.leading_rows().find(|row| table.months(row).count() > 1)?;
    let rows: Vec<&Row> = table
        .months(leading)
        .filter(|row| row.own.month.is_some_and(|month| (DRAWN.0..=DRAWN.1).contains(&month)))
        .collect();
    let title = format!("{}: {}", named(leading), amount(review, leading));
    let subtitle = format!(
        "Each month against the year before the start and against the other sites, by months since the start; {} intervals",
        level(leading.own.interval_level.unwrap_or(review.level))
    );
    let is_share = leading.quantity == Quantity::Change;
    let (axis_label, unit) = if is_share { ("difference", "points") } else { ("ratio", "") };
    let chart = Trend {
        frame: Frame {
            description: format!("{title}. {subtitle}."),
            title,
            subtitle,
            caption: "The month of the start belongs to neither side. Before the start nothing should show.".to_owned(),
        },
        axis: Axis::Amount { unit: unit.to_owned() },
        axis_label: axis_label.to_owned(),
        reference: Some(Reference {
            value: if is_share { 0.0 } else { 1.0 },
            label: "no difference".to_owned(),
        }),
        text_label: "n".to_owned(),
        periods: rows.iter().map(|row| period(row)).collect(),
    };
    Some(Picture { name: "action-by-month", svg: trend(&chart) })
}

fn period(row: &Row) -> Period {
    let month = row.own.month.unwrap_or(0);
    let amount = Amount::of(row);
    let scale = amount.scale("");
    let on = |value: Option<f64>| value.map(|value| value / scale.divisor);
    let mark = Mark {
        value: on(amount.value),
        low: on(amount.low),
        high: on(amount.high),
        look: look(&row.flags),
    };
    let label = if month > 0 { format!("+{month}") } else { format!("\u{2212}{}", -month) };
    Period { label, mark, text: whole(Some(row.n)) }
}
