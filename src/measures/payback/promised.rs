//! What a proposal had promised for an action that carried it out.

use super::declared::{By, Quantity, Table};
use crate::measures::actions;
use crate::measures::months::YEAR;
use crate::measures::results::Money;

/// Sets beside the worth of every action what its proposal promises for as many months, before price and running cost, and no
/// longer than it works.
pub fn add_promises(actions: &mut actions::Table, promises: &Table) {
    for row in actions.rows.iter_mut().filter(|row| row.quantity == actions::Quantity::Worth) {
        let (name, months) = (row.own.proposal.as_ref(), row.own.months.unwrap_or(0));
        let mut rows = promises.rows_of(By::Proposal, Quantity::Saving);
        let promise = rows.find(|promise| name.is_some() && promise.own.proposal.as_ref() == name);
        row.own.promised = promise.and_then(|promise| {
            let life = promise.own.life_months.map_or(months, i64::from);
            Some(Money::rounded(promise.estimate? * months.min(life) as f64 / YEAR))
        });
    }
}
