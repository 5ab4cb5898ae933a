//! What changed against an earlier quarter: which rows, in which order, and a change in words.

use super::label::label;
use super::number::Amount;
use crate::measures::changes::{Against, By, Quantity, Row};
use crate::measures::{Review, Unit};

/// False ones among the changes that are named, at most, as a share of them.
pub(in crate::report) const FALSE_SHARE: f64 = 0.05;

/// The comparisons of a review with one earlier quarter.
#[derive(Clone, Debug)]
pub(in crate::report) struct Comparison<'a> {
    /// Which earlier quarter.
    pub against: Against,
    /// Its name.
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
    let mut all: Vec<Comparison> = Vec::new();
    for row in &review.changes.rows {
        let (against, quarter) = (row.own.against, row.own.quarter.as_str());
        let at = all.iter().position(|known| known.against == against);
        let at = at.unwrap_or_else(|| {
            let (changed, others, flagged) = (Vec::new(), Vec::new(), Vec::new());
            all.push(Comparison { against, quarter, changed, others, flagged });
            all.len() - 1
        });
        let comparison = &mut all[at];
        match row.own.q.filter(|_| row.is_firm()) {
            Some(q) if q <= FALSE_SHARE => comparison.changed.push(row),
            Some(_) => comparison.others.push(row),
            None => comparison.flagged.push(row),
        }
    }
    for comparison in &mut all {
        for rows in [&mut comparison.changed, &mut comparison.others] {
            rows.sort_by(|a, b| a.own.p.total_cmp(&b.own.p));
        }
        comparison.flagged.sort_by(|a, b| b.n.total_cmp(&a.n));
    }
    all
}

/// What a quantity is the change of.
pub(in crate::report) fn subject(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::FirstPass => "clean at the first look",
        Quantity::FirstCycle => "passed at the first cleaning cycle",
        Quantity::Skipped => "matings made with an end unseen",
        Quantity::FaultRate => "linked faults per 1,000 connection-months",
    }
}

/// "incoming, LC", "supplier Tal": suppliers and sides do not tell themselves apart from families.
pub(in crate::report) fn place(row: &Row) -> String {
    match row.by {
        By::Supplier | By::Side => format!("{} {}", row.by.word(), label(row)),
        _ => label(row),
    }
}

/// "clean at the first look: incoming, LC".
pub(in crate::report) fn named(row: &Row) -> String {
    format!("{}: {}", subject(row.quantity), place(row))
}

/// A value of the row, now or before, with the digits that its change supports.
pub(in crate::report) fn value(row: &Row, value: Option<f64>) -> Amount {
    let (unit, times) = match row.unit() {
        // The larger of both, so that both have the same digits.
        Unit::Ratio => {
            let both = row.own.value.into_iter().chain(row.own.value_before);
            (Unit::PerThousandMonths, both.fold(0.0, f64::max))
        }
        _ => (Unit::Share, 1.0),
    };
    let part = |end: Option<f64>| end.map(|end| end * times);
    Amount { low: part(row.low), high: part(row.high), ..Amount::plain(value, unit) }
}

/// A value of the row in words: "88.1 %", "15.0".
pub(in crate::report) fn value_words(row: &Row, value: Option<f64>) -> String {
    let amount = self::value(row, value);
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
    format!("{interval} {}", if row.unit() == Unit::Ratio { "times" } else { "points" })
}

/// "clean at the first look fell at incoming, LC from 88.1 % to 81.3 % (−9.1 to −4.2 points)".
pub(in crate::report) fn sentence(row: &Row) -> String {
    let (before, now) = (row.own.value_before, row.own.value);
    let went = if now < before { "fell" } else { "rose" };
    let place = match row.by {
        By::Fleet => "in the fleet".to_owned(),
        By::Family | By::Side | By::Supplier => format!("for {}", label(row)),
        By::Stage | By::StageFamily | By::Site => format!("at {}", label(row)),
    };
    format!(
        "{} {went} {place} from {} to {} ({})",
        subject(row.quantity),
        value_words(row, before),
        value_words(row, now),
        interval_words(row)
    )
}

/// The firm changes of the fleet's own number against each quarter.
pub(in crate::report) fn of_fleet(review: &Review, quantity: Quantity) -> Vec<&Row> {
    let rows = review.changes.rows_of(By::Fleet, quantity);
    rows.filter(|row| row.is_firm() && row.own.q.is_some()).collect()
}

/// "Since 2026-Q1: +0.8 points (−0.9 to +2.5), no change could be shown."
pub(in crate::report) fn since(row: &Row) -> String {
    let amount = Amount::of(row);
    let times = if row.unit() == Unit::Ratio { " times" } else { "" };
    let value = amount.short("");
    let interval = amount.interval_on(&amount.scale(""));
    let sure = if row.own.q.is_some_and(|q| q <= FALSE_SHARE) {
        "more than chance"
    } else {
        "no change could be shown"
    };
    format!("Since {}: {value}{times} ({interval}), {sure}.", row.own.quarter)
}
