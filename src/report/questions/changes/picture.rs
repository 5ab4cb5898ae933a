//! What changed: pairs of dots, the earlier quarter and this one; what changed by more than chance above a rule.

use crate::charts::{Axis, DotPairs, Mark, PairPanel, PairRow, dot_pairs};
use crate::measures::changes::{Against, Quantity, Row};
use crate::measures::{Review, Unit};
use crate::report::page::picture::{Picture, frame, mark, share_axis_of};
use crate::report::words::changed::{
    Comparison, FALSE_SHARE, interval_words, place, subject, value,
};
use crate::report::words::label::capitalised;
use crate::report::words::number::probability_or_dash;

/// Rows drawn of a quantity that did not change by more than chance.
const MOST_BELOW: usize = 8;
/// Points in a share of 1.
const POINTS: f64 = 100.0;

/// One comparison's picture; none without rows.
pub(in crate::report) fn changes(
    review: &Review,
    comparison: &Comparison,
    title: String,
) -> Option<Picture> {
    let quarter = &review.period.quarter;
    let panels: Vec<PairPanel> = Quantity::ALL
        .iter()
        .map(|quantity| panel(comparison, *quantity))
        .filter(|panel| !panel.above.is_empty() || !panel.below.is_empty())
        .collect();
    if panels.is_empty() {
        return None;
    }
    let drawn =
        format!("{quarter} against {}, a panel a quantity, the surest first", comparison.quarter);
    let caption = "Flagged comparisons come last, below the rule. They are in no list, whatever their interval.";
    let chart = DotPairs {
        frame: frame(review, title, &drawn, caption),
        times: [comparison.quarter.to_owned(), quarter.to_string()],
        above: format!("Changed by more than chance (q at most {FALSE_SHARE})"),
        below: "No change could be shown, or too little to tell".to_owned(),
        columns: vec!["interval of the change".to_owned(), "q".to_owned()],
        panels,
    };
    let name = match comparison.against {
        Against::YearBefore => "changes-since-year-before",
        Against::QuarterBefore => "changes-since-quarter-before",
    };
    Some(Picture { name, svg: dot_pairs(&chart) })
}

fn panel(comparison: &Comparison, quantity: Quantity) -> PairPanel {
    let of = |rows: &[&Row]| -> Vec<PairRow> {
        rows.iter().filter(|row| row.quantity == quantity).map(|row| line(row)).collect()
    };
    let (above, mut below) = (of(&comparison.changed), of(&comparison.others));
    below.extend(of(&comparison.flagged));
    let is_rate = comparison.rows().any(|row| row.quantity == quantity && is_ratio(row));
    let shown: Vec<f64> =
        above.iter().chain(below.iter().take(MOST_BELOW)).flat_map(values).collect();
    let (axis, axis_label, change_axis, change_label) = if is_rate {
        (Axis::Ratio, "per 1,000 connection-months", Axis::Ratio, "ratio")
    } else {
        let points = Axis::Amount { unit: "points".to_owned() };
        (share_axis_of(&shown), "share", points, "change")
    };
    PairPanel {
        title: capitalised(subject(quantity)),
        axis,
        axis_label: axis_label.to_owned(),
        change_axis,
        change_label: change_label.to_owned(),
        no_change: if is_rate { 1.0 } else { 0.0 },
        above,
        below,
        most_below: MOST_BELOW,
        rest: "in tables/changes.csv".to_owned(),
    }
}

fn values(row: &PairRow) -> impl Iterator<Item = f64> + use<> {
    [row.before, row.now].into_iter().flatten()
}

fn is_ratio(row: &Row) -> bool {
    row.unit() == Unit::Ratio
}

fn line(row: &Row) -> PairRow {
    let times = if is_ratio(row) { 1.0 } else { POINTS };
    let part = |value: Option<f64>| value.map(|value| value * times);
    let of = mark(row);
    let change =
        Mark { value: part(of.value), low: part(of.low), high: part(of.high), look: of.look };
    let q = probability_or_dash(row.own.q);
    PairRow {
        label: place(row),
        before: value(row, row.own.value_before).value,
        now: value(row, row.own.value).value,
        change,
        texts: vec![interval_words(row), q],
    }
}
