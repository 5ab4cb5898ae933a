//! `[costs]`: what work and trouble cost.

use super::place::Place;
use super::problems::Problems;
use super::ranges::{Minutes, Money, YearlyShare};
use super::section::{Given, section};

/// Longest time that one step may take, minutes: a week.
const MOST_MINUTES: f64 = 10_080.0;

/// The one key that a table of prices may leave out.
const MAY_BE_LEFT_OUT: &str = "discount_rate";

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
        /// One trip to a site for a fault, minor units.
        visit: i64 = 0, Money;
        /// Putting right or replacing a rejected end face, minor units.
        reject: i64 = 0, Money;
        /// What money is worth less after a year, a share of itself.
        discount_rate: f64 = 0.0, YearlyShare;
    }
}

impl Default for Costs {
    fn default() -> Self {
        Self::left_out()
    }
}

/// The prices of what was typed. Without a `[costs]` table nothing costs anything; with one every price is required.
pub fn costs(typed: Option<&TypedCosts>, place: &Place, problems: &mut Problems) -> Costs {
    let Some(typed) = typed else { return Costs::default() };
    for key in typed.missing().into_iter().filter(|key| *key != MAY_BE_LEFT_OUT) {
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
            problems.add(&place.key(MAY_BE_LEFT_OUT), format!("missing; {wanted}"));
        }
        Some(_) => {}
    }
}
