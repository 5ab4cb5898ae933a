//! Rows of the purchase cases by proposal, and what they say in a sentence.

use super::flags::words;
use super::number::{Amount, count_or_dash, major};
use super::unanswered::reason;
use crate::charts::number::{fixed, percent};
use crate::measures::Review;
use crate::measures::payback::{By, NAME, Quantity, Row, Source, Table};
use crate::measures::results::Money;
use crate::report::page::section::counted;

/// The rows of one proposal.
pub(in crate::report) struct Purchase<'a> {
    pub name: &'a str,
    table: &'a Table,
    /// Its net present value, the row that says what it is.
    pub worth: &'a Row,
}

/// Every proposal, those that may be ranked first, in the order of the low end of what they are worth.
pub(in crate::report) fn purchases(review: &Review) -> Vec<Purchase<'_>> {
    let table = &review.payback;
    let rows = table.rows_of(By::Proposal, Quantity::NetPresentValue);
    let named = rows.filter_map(|worth| Some((worth.own.proposal.as_deref()?, worth)));
    let mut all: Vec<Purchase> =
        named.map(|(name, worth)| Purchase { name, table, worth }).collect();
    let low = |purchase: &Purchase| purchase.worth.low.unwrap_or(f64::NEG_INFINITY);
    all.sort_by(|a, b| {
        let firm = b.worth.is_firm().cmp(&a.worth.is_firm());
        firm.then(low(b).total_cmp(&low(a))).then(a.name.cmp(b.name))
    });
    all
}

impl<'a> Purchase<'a> {
    /// The row of a quantity.
    pub(in crate::report) fn row(&self, quantity: Quantity) -> Option<&'a Row> {
        self.rows(By::Proposal, quantity).next()
    }

    /// The rows of a grouping and quantity.
    pub(in crate::report) fn rows(
        &self,
        by: By,
        quantity: Quantity,
    ) -> impl Iterator<Item = &'a Row> + use<'a> {
        let name = self.name;
        let rows = self.table.rows_of(by, quantity);
        rows.filter(move |row| row.own.proposal.as_deref() == Some(name))
    }

    /// Price of all units: "28 800 EUR".
    pub(in crate::report) fn price(&self, review: &Review) -> String {
        sum(review, self.worth.own.price)
    }

    /// How long it works: "1 month", "60 months".
    pub(in crate::report) fn months(&self) -> String {
        counted(self.worth.own.life_months.unwrap_or(0).into(), "month", "months")
    }

    /// How many units are bought.
    pub(in crate::report) fn units(&self) -> String {
        count_or_dash(self.worth.own.units.map(i64::from))
    }

    /// What it is worth, for whoever signs the money.
    pub(in crate::report) fn sentence(&self, review: &Review) -> String {
        if let Some(reason) = &self.worth.own.reason {
            return format!("{}: {reason}.", self.name);
        }
        let (price, life) = (self.price(review), self.months());
        let worth = Amount::of(self.worth);
        let gain = worth.value.is_some_and(|value| value >= 0.0);
        let sure = match (worth.low, worth.high) {
            (Some(low), _) if low > 0.0 => "pays for itself",
            (_, Some(high)) if high < 0.0 => "does not pay for itself",
            _ if gain => "may pay for itself",
            _ => "hardly pays for itself",
        };
        let chance = self.row(Quantity::PaysBack).and_then(|row| row.estimate).map(chance);
        let month = self.row(Quantity::PaybackMonth).map(months);
        let words = if self.worth.is_firm() {
            String::new()
        } else {
            format!(" Not firm ({}): in no ranking.", words(&self.worth.flags))
        };
        format!(
            "{}: {price} {sure} by these records: worth {} over {life}, after its price; {}; {} of paying back in that time.{words}",
            self.name,
            worth.full(&review.currency),
            month.unwrap_or_default(),
            chance.unwrap_or_else(|| "unknown chance".to_owned()),
        )
    }
}

/// "pays back after 19 months (12 to 41)".
fn months(row: &Row) -> String {
    let Some(month) = row.estimate else {
        return match row.low {
            Some(low) => format!(
                "pays back within its life in fewer than half of the draws, after {} at the soonest",
                counted(low.round(), "month", "months")
            ),
            None => "pays back in hardly any draw".to_owned(),
        };
    };
    let month = counted(month.round(), "month", "months");
    match (row.low, row.high) {
        (Some(low), Some(high)) if low < high => {
            format!("pays back after {month} ({} to {})", fixed(low, 0), fixed(high, 0))
        }
        (Some(low), None) => format!("pays back after {month} ({} to never)", fixed(low, 0)),
        _ => format!("pays back after {month}"),
    }
}

/// A chance in words that do not claim to be certain.
pub(in crate::report) fn chance(share: f64) -> String {
    if share > 0.99 {
        format!("over {} chance", percent(0.99, 0))
    } else if share < 0.01 {
        format!("under {} chance", percent(0.01, 0))
    } else {
        format!("{} chance", percent(share, 0))
    }
}

/// A sum that is known to the cent, in major units: "28 800 EUR", "49.50 EUR"; a dash where none is known.
pub(in crate::report) fn sum(review: &Review, money: Option<Money>) -> String {
    let Some(Money(minor)) = money else { return "–".to_owned() };
    let decimals = if minor.rem_euclid(100) == 0 { 0 } else { 2 };
    format!("{}\u{A0}{}", fixed(major(minor as f64), decimals), review.currency)
}

/// The best set for the budget, if there is one.
pub(in crate::report) fn best_set(review: &Review) -> Option<&Row> {
    review.payback.rows_of(By::Set, Quantity::BestSet).next()
}

/// Sets with rising price.
pub(in crate::report) fn ladder(review: &Review) -> Vec<&Row> {
    review.payback.rows_of(By::Set, Quantity::Ladder).collect()
}

/// The names of a set's proposals.
pub(in crate::report) fn set_of(row: &Row) -> String {
    row.own.set.clone().unwrap_or_default()
}

/// Whether a proposal is in the set of a row.
pub(in crate::report) fn is_in_set(row: &Row, name: &str) -> bool {
    row.own
        .set
        .as_deref()
        .is_some_and(|set| format!(" + {set} + ").contains(&format!(" + {name} + ")))
}

/// Where the number of a row comes from.
pub(in crate::report) fn source_of(row: &Row) -> String {
    row.own.source.map(Source::word).unwrap_or_default().to_owned()
}

/// What to buy, in a sentence.
pub(in crate::report) fn answer(review: &Review) -> String {
    let all = purchases(review);
    if all.is_empty() {
        return "No purchase is proposed: add one with its price, life and effect as [[proposal]] to the settings"
            .to_owned();
    }
    if let Some(reason) = reason(review, NAME) {
        return format!("No answer: {reason}");
    }
    if let Some(best) = best_set(review) {
        if best.own.set.is_none() {
            return format!(
                "Of {}, nothing is best spent: no proposal that it pays for is worth its price",
                sum(review, best.own.budget)
            );
        }
        let chance = best.own.probability.map(chance);
        return format!(
            "Of {}, {} buys most: {}, worth {} after its price, with {} of paying for itself",
            sum(review, best.own.budget),
            sum(review, best.own.price),
            set_of(best),
            Amount::of(best).full(&review.currency),
            chance.unwrap_or_else(|| "unknown chance".to_owned()),
        );
    }
    let ranked: Vec<&Purchase> =
        all.iter().filter(|one| one.worth.is_firm() && one.worth.estimate.is_some()).collect();
    let sure = ranked.iter().filter(|one| one.worth.low.is_some_and(|low| low > 0.0)).count();
    match ranked.first() {
        None => "No proposal can be judged firmly by these records".to_owned(),
        Some(first) if all.len() == 1 && sure == 1 => format!(
            "The one proposal surely pays, {}: {} after its price",
            first.name,
            Amount::of(first.worth).full(&review.currency)
        ),
        Some(first) if sure > 0 => format!(
            "{sure} of {} proposals surely {}; most surely {}: {} after its price",
            all.len(),
            if sure == 1 { "pays" } else { "pay" },
            first.name,
            Amount::of(first.worth).full(&review.currency)
        ),
        Some(first) => format!(
            "No proposal surely pays for itself; nearest is {}: {} after its price",
            first.name,
            Amount::of(first.worth).full(&review.currency)
        ),
    }
}

/// All that a terminal shows: the answer, a sentence a proposal, what it depends on, the ladder.
pub fn payback_lines(review: &Review) -> Vec<String> {
    let mut lines = vec![format!("{}.", answer(review)), String::new()];
    for purchase in purchases(review) {
        lines.push(purchase.sentence(review));
        if let Some(price) = purchase.row(Quantity::BreakEvenPrice) {
            lines.push(format!(
                "  break-even price of a unit ({}): {}",
                purchase.units(),
                Amount::of(price).full(&review.currency)
            ));
        }
        for (quantity, words) in [
            (Quantity::Saving, "saving a year, before running cost"),
            (Quantity::FaultsAvoided, "faults avoided a year"),
            (Quantity::DowntimeAvoided, "downtime avoided a year"),
        ] {
            let row = purchase.row(quantity);
            let row = row.filter(|row| row.estimate.is_some_and(|value| value != 0.0));
            let amount = row.map(|row| Amount::of(row).full(&review.currency));
            lines.extend(amount.map(|amount| format!("  {words}: {amount}")));
        }
        if let Some(row) = purchase.rows(By::ProposalInput, Quantity::Tornado).next() {
            let input = row.own.input.as_deref().unwrap_or_default();
            lines.push(format!("  depends most on: {input} ({})", source_of(row)));
        }
    }
    let rungs = ladder(review);
    if rungs.len() > 1 {
        lines.extend([String::new(), "What a budget buys:".to_owned()]);
        for row in rungs {
            let (price, worth) = (sum(review, row.own.price), Amount::of(row));
            lines.push(format!(
                "  {price}: {}, worth {}",
                set_of(row),
                worth.full(&review.currency)
            ));
        }
    }
    // A name of the settings may hold no control characters, but a terminal gets only what prints.
    let plain =
        |line: String| line.chars().map(|c| if c.is_control() { '\u{fffd}' } else { c }).collect();
    lines.into_iter().map(plain).collect()
}
