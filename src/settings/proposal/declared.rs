//! `[[proposal]]` and `[budget]`: their keys.

use std::marker::PhantomData;

use super::effect::{Effect, TypedEffect};
use crate::settings::ranges::{Later, Money, Name, Whole, Words};
use crate::settings::section::section;

/// Longest life and wait that are planned for, months: fifty years.
const MOST_MONTHS: u32 = 600;
/// Most units of one proposal.
const MOST_UNITS: u32 = 1_000_000;

section! {
    TypedProposal:
    /// A purchase that somebody proposes. Money in minor units of the fleet's currency.
    Proposal {
        /// Unique name, as printed.
        name: String = String::new(), Name, required "a name";
        /// Price of one unit, paid at the start; 0 where it is leased.
        price: i64 = 0, Money, required "the price of one unit";
        /// How many units are bought.
        units: u32 = 1, Whole(1, MOST_UNITS);
        /// How long it works, months.
        life_months: u32 = 1, Whole(1, MOST_MONTHS), required "the months that it works";
        /// Months from paying until it works.
        starts_after_months: u32 = 0, Whole(0, MOST_MONTHS);
        /// Cost of running one unit for a year of its life.
        running_cost: i64 = 0, Money;
        /// Names of proposals that are not bought together with it.
        excludes: Vec<String> = Vec::new(), Words;
        /// Names of proposals without which it is not bought.
        needs: Vec<String> = Vec::new(), Words;
        /// What one leased unit costs at the end of each month of its life.
        monthly_price: i64 = 0, Money;
        /// What it costs once to teach people to use it, whatever the units; paid at the start.
        training_cost: i64 = 0, Money;
        /// What it changes; at least one.
        effects ("effect"): Vec<Effect> = Vec::new(),
            Later<Vec<TypedEffect>, Vec<Effect>>("at least one [[proposal.effect]]", PhantomData);
    } + {
        /// Line of the settings where it begins, for messages.
        line: usize = 0;
    }
}

impl Proposal {
    /// What is paid at the start: the price of all units, and training. Minor units; none beyond all money there is.
    pub fn outlay(&self) -> Option<i64> {
        self.price.checked_mul(self.units.into())?.checked_add(self.training_cost)
    }

    /// What all units cost in a year of its life: running them, and leasing them. Minor units; none beyond all money there
    /// is.
    pub fn yearly_cost(&self) -> Option<i64> {
        const MONTHS: i64 = 12;
        let leased = self.monthly_price.checked_mul(MONTHS)?;
        self.running_cost.checked_add(leased)?.checked_mul(self.units.into())
    }
}

section! {
    TypedBudget:
    /// What may be spent on proposals.
    Budget {
        /// What may be spent on them together, minor units.
        amount: i64 = 0, Money, required "what may be spent";
    }
}
