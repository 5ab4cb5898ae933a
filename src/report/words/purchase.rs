//! Rows of the purchase cases by proposal, and what they say in a sentence.

use super::flags::words;
use super::number::{Amount, major, number, whole};
use crate::charts::number::{fixed, percent};
use crate::measures::{Review, Row, Table, Value};

/// Name of the measure's table.
pub(in crate::report) const NAME: &str = "payback";

/// The rows of one proposal.
pub(in crate::report) struct Purchase<'a> {
    pub name: &'a str,
    pub table: &'a Table,
    /// Its net present value, the row that says what it is.
    pub worth: &'a Row,
}

/// A word of a row's own columns.
pub(in crate::report) fn text<'a>(table: &'a Table, row: &'a Row, column: &str) -> &'a str {
    match table.own(row, column) {
        Value::Text(text) => text,
        _ => "",
    }
}

/// Every proposal, those that may be ranked first, in the order of the low end of what they are worth.
pub(in crate::report) fn purchases(review: &Review) -> Vec<Purchase<'_>> {
    let table = &review.payback;
    let own = |worth| Purchase { name: text(table, worth, "proposal"), table, worth };
    let mut all: Vec<Purchase> = table.rows_of("proposal", "net-present-value").map(own).collect();
    let low = |own: &Purchase| own.worth.low.unwrap_or(f64::NEG_INFINITY);
    all.sort_by(|a, b| {
        let firm = b.worth.is_firm().cmp(&a.worth.is_firm());
        firm.then(low(b).total_cmp(&low(a))).then(a.name.cmp(b.name))
    });
    all
}

impl<'a> Purchase<'a> {
    /// The row of a quantity.
    pub(in crate::report) fn row(&self, quantity: &'static str) -> Option<&'a Row> {
        self.rows("proposal", quantity).next()
    }

    /// The rows of a grouping and quantity.
    pub(in crate::report) fn rows(
        &self,
        by: &'static str,
        quantity: &'static str,
    ) -> impl Iterator<Item = &'a Row> + use<'a> {
        let (table, name) = (self.table, self.name);
        table.rows_of(by, quantity).filter(move |row| text(table, row, "proposal") == name)
    }

    /// A number of its own columns.
    pub(in crate::report) fn number(&self, column: &str) -> Option<f64> {
        number(self.table.own(self.worth, column))
    }

    /// Price of all units: "28 800 EUR".
    pub(in crate::report) fn price(&self, review: &Review) -> String {
        sum(review, self.number("price").unwrap_or(0.0))
    }

    /// What it is worth, for whoever signs the money.
    pub(in crate::report) fn sentence(&self, review: &Review) -> String {
        let reason = text(self.table, self.worth, "reason");
        if !reason.is_empty() {
            return format!("{}: {reason}.", self.name);
        }
        let (price, life) = (self.price(review), whole(self.number("life_months")));
        let worth = Amount::of(self.worth);
        let gain = worth.value.is_some_and(|value| value >= 0.0);
        let sure = match (worth.low, worth.high) {
            (Some(low), _) if low > 0.0 => "pays for itself",
            (_, Some(high)) if high < 0.0 => "does not pay for itself",
            _ if gain => "may pay for itself",
            _ => "hardly pays for itself",
        };
        let chance = self.row("pays-back").and_then(|row| row.estimate).map(chance);
        let month = self.row("payback-month").map(months);
        let words = if self.worth.is_firm() {
            String::new()
        } else {
            format!(" Not firm ({}): in no ranking.", words(&self.worth.flags))
        };
        format!(
            "{}: {price} {sure} by these records: worth {} over {life} months, after its price; {}; {} of paying back in that time.{words}",
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
                "pays back within its life in fewer than half of the draws, after {} months at the soonest",
                fixed(low, 0)
            ),
            None => "pays back in hardly any draw".to_owned(),
        };
    };
    let month = fixed(month, 0);
    match (row.low, row.high) {
        (Some(low), Some(high)) if low < high => {
            format!("pays back after {month} months ({} to {})", fixed(low, 0), fixed(high, 0))
        }
        (Some(low), None) => format!("pays back after {month} months ({} to never)", fixed(low, 0)),
        _ => format!("pays back after {month} months"),
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

/// A sum that is known to the cent, in major units: "28 800 EUR", "49.50 EUR".
pub(in crate::report) fn sum(review: &Review, minor: f64) -> String {
    let decimals = if minor.rem_euclid(100.0) == 0.0 { 0 } else { 2 };
    format!("{}\u{A0}{}", fixed(major(minor), decimals), review.currency)
}

/// The best set for the budget, if there is one.
pub(in crate::report) fn best_set(review: &Review) -> Option<&Row> {
    review.payback.rows_of("set", "best-set").next()
}

/// Sets with rising price.
pub(in crate::report) fn ladder(review: &Review) -> Vec<&Row> {
    review.payback.rows_of("set", "ladder").collect()
}

/// What to buy, in a sentence.
pub(in crate::report) fn answer(review: &Review) -> String {
    let (table, all) = (&review.payback, purchases(review));
    if all.is_empty() {
        return "No purchase is proposed: add one with its price, life and effect as [[proposal]] to the settings"
            .to_owned();
    }
    if let Some(best) = best_set(review) {
        let budget = number(table.own(best, "budget")).unwrap_or(0.0);
        let price = number(table.own(best, "price")).unwrap_or(0.0);
        let share = number(table.own(best, "probability")).unwrap_or(0.0);
        return format!(
            "Of {}, {} buys most: {}, worth {} after its price, with {} of paying for itself",
            sum(review, budget),
            sum(review, price),
            text(table, best, "set"),
            Amount::of(best).full(&review.currency),
            chance(share)
        );
    }
    let ranked: Vec<&Purchase> =
        all.iter().filter(|own| own.worth.is_firm() && own.worth.estimate.is_some()).collect();
    let sure = ranked.iter().filter(|own| own.worth.low.is_some_and(|low| low > 0.0)).count();
    match ranked.first() {
        None => "No proposal can be judged firmly by these records".to_owned(),
        Some(first) if sure > 0 => format!(
            "{sure} of {} proposals surely pay; most surely {}: {} after its price",
            all.len(),
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
    let table = &review.payback;
    let mut lines = vec![format!("{}.", answer(review)), String::new()];
    for own in purchases(review) {
        lines.push(own.sentence(review));
        if let Some(price) = own.row("break-even-price") {
            let (price, units) = (Amount::of(price), whole(own.number("units")));
            lines.push(format!(
                "  break-even price of a unit ({units}): {}",
                price.full(&review.currency)
            ));
        }
        for (quantity, words, unit) in [
            ("saving-a-year", "saving a year, before running cost", ""),
            ("faults-avoided-a-year", "faults avoided a year", ""),
            ("downtime-avoided-a-year", "downtime avoided a year", ""),
        ] {
            let row =
                own.row(quantity).filter(|row| row.estimate.is_some_and(|value| value != 0.0));
            lines.extend(
                row.map(|row| {
                    format!("  {words}: {}{unit}", Amount::of(row).full(&review.currency))
                }),
            );
        }
        if let Some(row) = own.rows("proposal+input", "tornado").next() {
            let input = text(table, row, "input");
            lines.push(format!("  depends most on: {input} ({})", text(table, row, "source")));
        }
    }
    let rungs = ladder(review);
    if rungs.len() > 1 {
        lines.extend([String::new(), "What a budget buys:".to_owned()]);
        for row in rungs {
            let price = number(table.own(row, "price")).unwrap_or(0.0);
            let worth = Amount::of(row).full(&review.currency);
            lines.push(format!(
                "  {}: {}, worth {worth}",
                sum(review, price),
                text(table, row, "set")
            ));
        }
    }
    // A name of the settings may hold no control characters, but a terminal gets only what prints.
    let plain =
        |line: String| line.chars().map(|c| if c.is_control() { '\u{fffd}' } else { c }).collect();
    lines.into_iter().map(plain).collect()
}
