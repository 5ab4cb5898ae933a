//! What changed against an earlier quarter: which rows, in which order, and a change in words.

use super::label::label;
use super::number::{Amount, number};
use crate::measures::{Review, Row, Table, Unit, Value};

/// What is compared, in the order of the page.
pub(in crate::report) const QUANTITIES: [&str; 4] =
    ["first-pass-clean", "passed-first-cycle", "skipped", "faults-per-1000-months"];

/// False ones among the changes that are named, at most, as a share of them.
pub(in crate::report) const FALSE_SHARE: f64 = 0.05;

/// The comparisons of a review with one earlier quarter.
#[derive(Clone, Debug)]
pub(in crate::report) struct Comparison<'a> {
    /// `quarter-before` or `year-before`.
    pub against: &'a str,
    /// The earlier quarter.
    pub quarter: &'a str,
    /// Those that changed by more than chance, the surest first.
    pub changed: Vec<&'a Row>,
    /// The others that may be listed, the surest first.
    pub others: Vec<&'a Row>,
    /// Those that a flag keeps out of the list, the larger first.
    pub flagged: Vec<&'a Row>,
}

impl<'a> Comparison<'a> {
    /// Every row, in this order.
    pub(in crate::report) fn rows(&self) -> impl Iterator<Item = &'a Row> + '_ {
        self.changed.iter().chain(&self.others).chain(&self.flagged).copied()
    }
}

/// All comparisons, by quarter, in the order of the table.
pub(in crate::report) fn comparisons(review: &Review) -> Vec<Comparison<'_>> {
    let table = &review.changes;
    let mut all: Vec<Comparison> = Vec::new();
    for row in &table.rows {
        let (against, quarter) = (text(table, row, "against"), text(table, row, "quarter"));
        let at = all.iter().position(|known| known.against == against);
        let at = at.unwrap_or_else(|| {
            let (changed, others, flagged) = (Vec::new(), Vec::new(), Vec::new());
            all.push(Comparison { against, quarter, changed, others, flagged });
            all.len() - 1
        });
        let own = &mut all[at];
        match number(table.own(row, "q")).filter(|_| row.is_firm()) {
            Some(q) if q <= FALSE_SHARE => own.changed.push(row),
            Some(_) => own.others.push(row),
            None => own.flagged.push(row),
        }
    }
    let sureness = |row: &Row| number(table.own(row, "p")).unwrap_or(1.0);
    for own in &mut all {
        for rows in [&mut own.changed, &mut own.others] {
            rows.sort_by(|a, b| sureness(a).total_cmp(&sureness(b)));
        }
        own.flagged.sort_by(|a, b| b.n.total_cmp(&a.n));
    }
    all
}

/// A word of a row's own columns; empty where it has none.
pub(in crate::report) fn text<'a>(table: &'a Table, row: &'a Row, column: &str) -> &'a str {
    match table.own(row, column) {
        Value::Text(text) => text,
        _ => "",
    }
}

/// What a row is the change of.
pub(in crate::report) fn subject(row: &Row) -> &'static str {
    match row.quantity {
        "first-pass-clean" => "clean at the first look",
        "passed-first-cycle" => "passed at the first cleaning cycle",
        "skipped" => "matings made with an end unseen",
        "faults-per-1000-months" => "linked faults per 1,000 connection-months",
        other => other,
    }
}

/// "receiving, LC", "supplier Tal": suppliers and sides do not tell themselves apart from families.
pub(in crate::report) fn place(row: &Row) -> String {
    match row.by {
        "supplier" | "side" => format!("{} {}", row.by, label(row)),
        _ => label(row),
    }
}

/// "clean at the first look: receiving, LC".
pub(in crate::report) fn named(row: &Row) -> String {
    format!("{}: {}", subject(row), place(row))
}

/// A value of the row now (`value`) or before (`value_before`), with the digits that its change supports.
pub(in crate::report) fn value(table: &Table, row: &Row, column: &str) -> Amount {
    let own = |column: &str| number(table.own(row, column));
    let value = own(column);
    let (unit, times) = match row.unit {
        // The larger of both, so that both have the same digits.
        Unit::Ratio => {
            let larger = own("value").into_iter().chain(own("value_before")).fold(0.0, f64::max);
            (Unit::PerThousandMonths, larger)
        }
        _ => (Unit::Share, 1.0),
    };
    let part = |end: Option<f64>| end.map(|end| end * times);
    Amount { value, low: part(row.low), high: part(row.high), unit }
}

/// A value in words: "88.1 %", "15.0".
pub(in crate::report) fn value_words(table: &Table, row: &Row, column: &str) -> String {
    let amount = value(table, row, column);
    match (amount.value, amount.unit) {
        (None, _) => "nothing known".to_owned(),
        (Some(_), Unit::Share) => amount.short(""),
        (Some(_), _) => amount.value_on(&amount.scale("")),
    }
}

/// The interval of the change: "−9.1 to −4.2 points", "1.2 to 1.8 times".
pub(in crate::report) fn interval_words(row: &Row) -> String {
    let amount = Amount::of(row);
    let scale = amount.scale("");
    let interval = match (row.estimate, row.low) {
        (None, Some(_)) => amount.value_on(&scale),
        _ => amount.interval_on(&scale),
    };
    format!("{interval} {}", if row.unit == Unit::Ratio { "times" } else { "points" })
}

/// "clean at the first look fell at receiving, LC from 88.1 % to 81.3 % (−9.1 to −4.2 points)".
pub(in crate::report) fn sentence(table: &Table, row: &Row) -> String {
    let [before, now] = ["value_before", "value"].map(|column| value(table, row, column).value);
    let went = if now < before { "fell" } else { "rose" };
    let place = match row.by {
        "fleet" => "in the fleet".to_owned(),
        "family" | "side" | "supplier" => format!("for {}", label(row)),
        _ => format!("at {}", label(row)),
    };
    format!(
        "{} {went} {place} from {} to {} ({})",
        subject(row),
        value_words(table, row, "value_before"),
        value_words(table, row, "value"),
        interval_words(row)
    )
}

/// The firm change of the fleet's own number against a quarter, if there is one.
pub(in crate::report) fn of_fleet<'a>(review: &'a Review, quantity: &str) -> Vec<&'a Row> {
    let table = &review.changes;
    let rows = table.rows.iter().filter(|row| row.by == "fleet" && row.quantity == quantity);
    rows.filter(|row| row.is_firm() && number(table.own(row, "q")).is_some()).collect()
}

/// "Since 2026-Q1: +0.8 points (−0.9 to +2.5), no more than chance can do."
pub(in crate::report) fn since(review: &Review, row: &Row) -> String {
    let table = &review.changes;
    let amount = Amount::of(row);
    let times = if row.unit == Unit::Ratio { " times" } else { "" };
    let value = amount.short("");
    let interval = amount.interval_on(&amount.scale(""));
    let q = number(table.own(row, "q"));
    let sure = if q.is_some_and(|q| q <= FALSE_SHARE) {
        "more than chance"
    } else {
        "no more than chance can do"
    };
    format!("Since {}: {value}{times} ({interval}), {sure}.", text(table, row, "quarter"))
}
