//! What changed: pairs of dots, the earlier quarter and this one; what changed by more than chance above a rule.

use super::{Picture, frame, mark};
use crate::charts::{Axis, DotPairs, Mark, PairPanel, PairRow, dot_pairs};
use crate::measures::{Review, Row, Table, Unit};
use crate::report::changed::{Comparison, FALSE_SHARE, interval_words, named, value};
use crate::report::number::{number, probability};

/// Points in a share of 1.
const POINTS: f64 = 100.0;

/// One comparison's picture; none without rows.
pub(in crate::report) fn changes(
    review: &Review,
    comparison: &Comparison,
    title: String,
) -> Option<Picture> {
    let table = review.table("changes");
    let quarter = &review.period.quarter;
    let panels: Vec<PairPanel> = [Unit::Difference, Unit::Ratio]
        .into_iter()
        .map(|unit| panel(table, comparison, unit))
        .filter(|panel| !panel.above.is_empty() || !panel.below.is_empty())
        .collect();
    if panels.is_empty() {
        return None;
    }
    let drawn =
        format!("{quarter} against {}, shares and rates, the surest first", comparison.quarter);
    let caption = "Flagged comparisons come last, below the rule. They are in no list, whatever their interval.";
    let chart = DotPairs {
        frame: frame(review, title, &drawn, caption),
        times: [comparison.quarter.to_owned(), quarter.to_string()],
        above: format!("Changed by more than chance (q at most {FALSE_SHARE})"),
        below: "No more than chance can do, or too little to tell".to_owned(),
        columns: vec!["interval of the change".to_owned(), "q".to_owned()],
        panels,
    };
    let name = match comparison.against {
        "year-before" => "changes-since-year-before",
        _ => "changes-since-quarter-before",
    };
    Some(Picture { name, svg: dot_pairs(&chart) })
}

fn panel(table: &Table, comparison: &Comparison, unit: Unit) -> PairPanel {
    let of = |rows: &[&Row]| -> Vec<PairRow> {
        rows.iter().filter(|row| row.unit == unit).map(|row| line(table, row)).collect()
    };
    let mut below = of(&comparison.others);
    below.extend(of(&comparison.flagged));
    let (title, axis, axis_label, change_axis, change_label, no_change) = match unit {
        Unit::Ratio => (
            "Rates",
            Axis::Ratio,
            "linked faults per 1,000 connection-months",
            Axis::Ratio,
            "ratio",
            1.0,
        ),
        _ => (
            "Shares",
            Axis::Share { from: 0.0, to: 1.0 },
            "share",
            Axis::Amount { unit: "points".to_owned() },
            "change",
            0.0,
        ),
    };
    PairPanel {
        title: title.to_owned(),
        axis,
        axis_label: axis_label.to_owned(),
        change_axis,
        change_label: change_label.to_owned(),
        no_change,
        above: of(&comparison.changed),
        below,
        rest: "in tables/changes.csv".to_owned(),
    }
}

fn line(table: &Table, row: &Row) -> PairRow {
    let own = |name: &str| value(table, row, name).value;
    let times = if row.unit == Unit::Ratio { 1.0 } else { POINTS };
    let part = |value: Option<f64>| value.map(|value| value * times);
    let of = mark(row);
    let change =
        Mark { value: part(of.value), low: part(of.low), high: part(of.high), look: of.look };
    let q = number(table.own(row, "q")).map_or_else(|| "–".to_owned(), probability);
    PairRow {
        label: named(row),
        before: own("value_before"),
        now: own("value"),
        change,
        texts: vec![interval_words(row), q],
    }
}
