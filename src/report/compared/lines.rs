//! The lines of a comparison.

use std::collections::BTreeSet;

use super::read::{Change, Findings, Headline, Place};
use crate::measures::Unit;
use crate::report::words::changed::FALSE_SHARE;
use crate::report::words::number::{Amount, MINOR};

/// Places listed of each grouping.
const MOST_PLACES: usize = 10;

/// A comparison in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Compared {
    /// What is compared with what.
    pub heading: String,
    /// A line a headline: what it is of, then, now, and whether the move could be shown.
    pub headlines: Vec<[String; 4]>,
    /// The same a place, the first in rank now first.
    pub places: Vec<[String; 4]>,
    /// What else to know: doubts and answers that came or went, what cannot be compared.
    pub notes: Vec<String>,
}

/// Both reviews compared.
pub(super) fn compare(old: &Findings, new: &Findings) -> Compared {
    let mut notes = Vec::new();
    let same_money = old.currency == new.currency;
    if !same_money {
        notes.push(format!("Money is in {} and in {}: not compared.", old.currency, new.currency));
    }
    if old.level != new.level {
        notes.push(format!(
            "The intervals are of different levels: {} and {}.",
            old.level, new.level
        ));
    }
    let headlines = new.headlines.iter().filter_map(|now| {
        let then = old.headlines.iter().find(|then| then.name == now.name)?;
        let comparable = same_money || now.unit != Unit::Money.word();
        comparable.then(|| headline(old, new, then, now))
    });
    let headlines = headlines.collect();
    let places = if same_money { places(old, new) } else { Vec::new() };
    notes.extend(answers(old, new));
    notes.extend(doubts(old, new));
    let heading = format!("{}: {} against {}", new.fleet, new.period.quarter, old.period.quarter);
    Compared { heading, headlines, places, notes }
}

fn headline(old: &Findings, new: &Findings, then: &Headline, now: &Headline) -> [String; 4] {
    let amount = |one: &Headline| amount(&one.unit, [one.value, one.low, one.high]);
    let own = now.changes.iter().find(|change| change.quarter == old.period.quarter);
    let verdict = match own {
        Some(change) => worked_out(change),
        None => apart([then.value, then.low, then.high], [now.value, now.low, now.high]),
    };
    [now.name.clone(), amount(then).full(&old.currency), amount(now).full(&new.currency), verdict]
}

/// The verdict of the later review itself.
fn worked_out(change: &Change) -> String {
    let of = amount(&change.unit, [change.change, change.low, change.high]);
    let times = if of.unit == Unit::Ratio { " times" } else { "" };
    let shown = change.q.is_some_and(|q| q <= FALSE_SHARE);
    let words = if shown { "shown" } else { "could not be shown" };
    format!("{}{times} ({}): {words}", of.short(""), of.interval_on(&of.scale("")))
}

/// Whether two intervals lie apart.
fn apart(then: [Option<f64>; 3], now: [Option<f64>; 3]) -> String {
    let ([Some(was), Some(low), Some(high)], [Some(is), Some(from), Some(to)]) = (then, now) else {
        return "cannot be compared".to_owned();
    };
    let went = if is < was { "fell" } else { "rose" };
    match high < from || to < low {
        true => format!("{went}: shown, the intervals lie apart"),
        false => "could not be shown".to_owned(),
    }
}

fn amount(unit: &str, [value, low, high]: [Option<f64>; 3]) -> Amount {
    let unit = Unit::of(unit).unwrap_or(Unit::Number);
    // An amount inside the program is in minor units, a file's in units of the currency.
    let times = if unit == Unit::Money { MINOR } else { 1.0 };
    let of = |number: Option<f64>| number.map(|number| number * times);
    Amount { value: of(value), low: of(low), high: of(high), unit }
}

/// Places that are ranked now, with what they were.
fn places(old: &Findings, new: &Findings) -> Vec<[String; 4]> {
    let mut groupings: Vec<&str> = Vec::new();
    for place in &new.places {
        if !groupings.contains(&place.by.as_str()) {
            groupings.push(&place.by);
        }
    }
    let mut lines = Vec::new();
    for by in groupings {
        let listed = new.places.iter().filter(|place| place.by == by).take(MOST_PLACES);
        lines.extend(listed.map(|now| {
            let then = old.places.iter().find(|then| then.by == by && then.place == now.place);
            place(old, new, then, now)
        }));
    }
    lines
}

fn place(old: &Findings, new: &Findings, then: Option<&Place>, now: &Place) -> [String; 4] {
    let numbers = |one: &Place| [one.net_saving, one.low, one.high];
    let said = |one: &Place, currency: &str| {
        let rank = one.rank.map(|rank| format!("{rank}. ")).unwrap_or_default();
        format!("{rank}{}", amount(Unit::Money.word(), numbers(one)).full(currency))
    };
    let (was, verdict) = match then {
        Some(then) => (said(then, &old.currency), apart(numbers(then), numbers(now))),
        None => ("not ranked".to_owned(), "cannot be compared".to_owned()),
    };
    [now.place.clone(), was, said(now, &new.currency), verdict]
}

/// Questions that lost or got their answer.
fn answers(old: &Findings, new: &Findings) -> Vec<String> {
    let without = |of: &Findings| -> BTreeSet<String> {
        of.unanswered.iter().map(|one| one.measure.clone()).collect()
    };
    let (then, now) = (without(old), without(new));
    let lost = now.difference(&then).map(|measure| format!("No longer answered: {measure}."));
    let got = then.difference(&now).map(|measure| format!("Answered now: {measure}."));
    lost.chain(got).collect()
}

/// Doubts whose sentence is new, without its numbers, which move with every quarter.
fn doubts(old: &Findings, new: &Findings) -> Vec<String> {
    let bare = |sentence: &str| -> String {
        sentence.chars().filter(|c| c.is_alphabetic() || c.is_whitespace()).collect()
    };
    let known: BTreeSet<String> = old.doubts.iter().map(|doubt| bare(&doubt.sentence)).collect();
    let fresh = new.doubts.iter().filter(|doubt| !known.contains(&bare(&doubt.sentence)));
    fresh.map(|doubt| format!("New doubt: {}", doubt.sentence)).collect()
}
