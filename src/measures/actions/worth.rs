//! What a change has been worth so far, beside what it cost and what was promised for it.

use super::declared::{Moves, Quantity, Row};
use crate::derive::DeriveError;
use crate::measures::entry::money::{Associated, arrivals};
use crate::measures::evidence::Evidence;
use crate::measures::months::a_year;
use crate::measures::results::Group;
use crate::measures::skipped_cost;
use crate::settings::Action;

/// What the price of one unit of a change rests on.
pub(super) struct Prices<'a> {
    pub evidence: &'a Evidence<'a>,
    pub skipped: &'a skipped_cost::Table,
}

/// Amounts of an estimate and its limits, the good ones above zero.
pub(super) struct Change {
    pub moves: Moves,
    /// Units since the start at the sites that began: looks, cycles, matings; of faults those without the action.
    pub units: f64,
    pub value: f64,
    pub low: Option<f64>,
    pub high: Option<f64>,
}

impl Prices<'_> {
    /// Minor units that one more look passing, one more first cycle passing, one mating less skipped, one fault less saves.
    /// None where the records or the settings give no price.
    fn of_one(&self, moves: Moves, action: &Action) -> Result<Option<f64>, DeriveError> {
        let costs = self.evidence.costs();
        let minute = costs.labour_hour as f64 / 60.0;
        Ok(match moves {
            Moves::FirstPass => {
                let stages = match action.stages.is_empty() {
                    true => self.evidence.plan.stages.order.clone(),
                    false => action.stages.clone(),
                };
                let associated =
                    Associated::of(self.skipped).map_or(0.0, |(of, _)| of.share.max(0.0));
                let arrivals = arrivals(self.evidence, &stages)?;
                let each = arrivals
                    .iter()
                    .map(|arrival| arrival.cleaning + associated * arrival.downstream);
                let known: Vec<f64> = each.filter(|price| *price > 0.0).collect();
                (!known.is_empty()).then(|| known.iter().sum::<f64>() / known.len() as f64)
            }
            Moves::PassedFirstCycle => {
                let again = costs.cleaning_minutes + costs.look_minutes;
                let price = again * minute + costs.cleaning_material as f64;
                Some(price).filter(|price| *price > 0.0)
            }
            Moves::Skipped => self.of_a_skipped_mating(),
            Moves::LinkedFaults => self.evidence.fault_prices().fleet().mean(),
        })
    }

    /// Net saving of the fleet (5.5) over the matings that it is of.
    fn of_a_skipped_mating(&self) -> Option<f64> {
        let mut rows =
            self.skipped.rows_of(skipped_cost::By::Fleet, skipped_cost::Quantity::NetSaving);
        let row = rows.find(|row| row.is_firm())?;
        let matings = row.own.matings_skipped.filter(|matings| *matings > 0)? as f64;
        Some(row.estimate? / (matings * a_year(row.own.months?)))
    }

    /// The row of worth so far; none where nothing has a price.
    ///
    /// # Errors
    /// A count table that cannot be grouped: a fault of the program.
    pub fn row(
        &self,
        of: &Row,
        action: &Action,
        change: &Change,
    ) -> Result<Option<Row>, DeriveError> {
        let Some(price) = self.of_one(change.moves, action)? else { return Ok(None) };
        let amount = |effect: f64| match change.moves {
            Moves::FirstPass | Moves::PassedFirstCycle => effect * change.units * price,
            Moves::Skipped => -effect * change.units * price,
            // A ratio below 1 has spared the rest.
            Moves::LinkedFaults => (1.0 - effect) * change.units * price,
        };
        let (a, b) = (change.low.map(amount), change.high.map(amount));
        let (low, high) = if change.moves.more_is_better() { (a, b) } else { (b, a) };
        // What a skipped mating costs may itself be below zero.
        let (low, high) = match (low, high) {
            (Some(low), Some(high)) if low > high => (Some(high), Some(low)),
            ends => ends,
        };
        let row = Row::figure(
            of.by,
            Group::default(),
            Quantity::Worth,
            amount(change.value).round(),
            "change times units times price",
            of.own.clone(),
        );
        let (n, flags) = (of.n, of.flags.clone());
        let rounded = |end: Option<f64>| end.map(f64::round);
        Ok(Some(Row { n, low: rounded(low), high: rounded(high), ..row }.flagged(flags)))
    }
}
