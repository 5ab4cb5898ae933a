//! `[costs]`: what work and trouble cost.

use std::collections::BTreeMap;

use super::fleet::is_currency;
use super::place::Place;
use super::problems::Problems;
use super::ranges::{Minutes, Money, MoneyIfAny, YearlyShare};
use super::section::{Given, Range, section};

/// Longest time that one step may take, minutes: a week.
const MOST_MINUTES: f64 = 10_080.0;

/// The keys that a table of prices may leave out.
const MAY_BE_LEFT_OUT: [&str; 3] = [DISCOUNT_RATE, "exchange", "interruption"];
/// What later money is worth.
const DISCOUNT_RATE: &str = "discount_rate";
/// Rates of exchange beyond this are slips.
const MOST_RATE: f64 = 1e9;

section! {
    TypedCosts:
    /// Prices. Money in minor units of the fleet's currency.
    Costs {
        /// Minutes that one look takes.
        look_minutes: f64 = 0.0, Minutes(MOST_MINUTES);
        /// Minutes that one cleaning takes.
        cleaning_minutes: f64 = 0.0, Minutes(MOST_MINUTES);
        /// Material of one cleaning, minor units.
        cleaning_material: i64 = 0, Money;
        /// An hour of work, minor units.
        labour_hour: i64 = 0, Money;
        /// An hour of service lost, minor units.
        downtime_hour: i64 = 0, Money;
        /// One trip to a site for a fault, or to look at what the worklist names, minor units.
        visit: i64 = 0, Money;
        /// What interrupting the service of one connection to look at its ends costs, minor units; left out: not known, and
        /// the worklist advises nobody to open one in service for that alone.
        interruption: Option<i64> = None, MoneyIfAny;
        /// Putting right or replacing a rejected end face, minor units.
        reject: i64 = 0, Money;
        /// What money is worth less after a year, a share of itself.
        discount_rate: f64 = 0.0, YearlyShare;
        /// What a unit of another currency is worth in the fleet's, by its code: amounts of faults are converted so.
        exchange: BTreeMap<String, f64> = BTreeMap::new(), Rates;
    }
}

impl Default for Costs {
    fn default() -> Self {
        Self::left_out()
    }
}

/// Rates of exchange by currency.
pub struct Rates;

impl Range for Rates {
    type Typed = BTreeMap<String, f64>;
    type Value = BTreeMap<String, f64>;

    fn read(&self, typed: &Self::Typed, place: &Place, problems: &mut Problems) -> Self::Value {
        for (code, rate) in typed {
            if !is_currency(code) || !(MOST_RATE.recip()..=MOST_RATE).contains(rate) {
                problems.add(place, format!("found {code} = {rate}, expected {}", self.text()));
            }
        }
        typed.clone()
    }

    fn text(&self) -> String {
        "rates above 0 by codes of three capital letters, such as { USD = 0.92 }".to_owned()
    }

    fn written(&self, _: &Self::Value) -> String {
        String::new()
    }
}

/// The prices of what was typed. Without a `[costs]` table nothing costs anything; with one every price is required.
pub fn costs(typed: Option<&TypedCosts>, place: &Place, problems: &mut Problems) -> Costs {
    let Some(typed) = typed else { return Costs::default() };
    for key in typed.missing().into_iter().filter(|key| !MAY_BE_LEFT_OUT.contains(key)) {
        problems.add(&place.key(key), "missing; a [costs] table gives every price, 0 for none");
    }
    Costs::read(typed, place, problems)
}

/// A purchase cannot be judged without prices, nor without what later money is worth. To be called where there is one.
pub fn required(typed: Option<&TypedCosts>, place: &Place, problems: &mut Problems) {
    match typed {
        None => problems.add(place, "missing; a [[proposal]] is judged by the prices of [costs]"),
        Some(costs) if costs.discount_rate.is_none() => {
            let wanted =
                "expected the discount rate a year that a [[proposal]] is judged by, such as 0.05";
            problems.add(&place.key(DISCOUNT_RATE), format!("missing; {wanted}"));
        }
        Some(_) => {}
    }
}
