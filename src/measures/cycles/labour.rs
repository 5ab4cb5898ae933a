//! 5.2: how much of the passes, the cleanings and the minutes comes after the third and the fifth
//! cycle, where common practice gives up.
//!
//! Intervals rest on site-weeks, or on longer blocks where the luck of cycles lasts longer (Rao & Scott 1992): cycles of
//! one visit are no independent units.

use std::collections::BTreeMap;

use super::declared::{By, Own, Quantity, Row, Table};
use super::trials::{Trial, Trials};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::results::Group;
use crate::stats::{ClusterSums, effective_share};

/// Tenths of a minute: minutes of a look or cleaning may be fractions, and cluster sums are whole.
const TENTHS: f64 = 10.0;

/// What is counted of a cycle.
type Amount<'a> = &'a dyn Fn(&Trial) -> u64;

/// Adds the shares beyond the third and the fifth cycle.
pub(in crate::measures) fn beyond_practice(
    evidence: &Evidence,
    trials: &Trials,
    table: &mut Table,
) {
    let (costs, rules) = (evidence.costs(), evidence.rules());
    let tenths = |minutes: f64| (minutes * TENTHS).round().clamp(0.0, 1e6) as u64;
    let (look, cleaning) = (tenths(costs.look_minutes), tenths(costs.cleaning_minutes));
    let minutes = |trial: &Trial| {
        trial.trials.saturating_mul(look).saturating_add(trial.cleanings.saturating_mul(cleaning))
    };
    let amounts: [([Quantity; 2], Amount, f64); 3] = [
        ([Quantity::PassesBeyondThree, Quantity::PassesBeyondFive], &|trial| trial.passed, 1.0),
        (
            [Quantity::CleaningsBeyondThree, Quantity::CleaningsBeyondFive],
            &|trial| trial.cleanings,
            1.0,
        ),
        ([Quantity::MinutesBeyondThree, Quantity::MinutesBeyondFive], &minutes, TENTHS),
    ];
    for ([three, five], amount, unit) in amounts {
        for (quantity, cycle) in [(three, 3), (five, 5)] {
            let sums = beyond(&trials.all, cycle, amount);
            let estimate = effective_share(&sums, rules.level);
            let (by, group, own) = (By::Fleet, Group::default(), Own::default());
            let mut row = Row::of(by, group, quantity, &estimate, own);
            row.n = sums.n as f64 / unit;
            row.events = Some((sums.events as f64 / unit).round() as i64);
            let thin = row.n < f64::from(rules.least_count);
            table.rows.push(row.flagged(thin.then_some(Flag::Thin)));
        }
    }
}

/// Sums over clusters of the amount in all cycles, and in those after `cycle`.
fn beyond(trials: &[Trial], cycle: u32, amount: Amount) -> ClusterSums {
    let mut clusters: BTreeMap<u64, (u64, u64)> = BTreeMap::new();
    for trial in trials {
        let own = clusters.entry(trial.cluster).or_default();
        own.0 = own.0.saturating_add(amount(trial));
        if trial.cycle > cycle {
            own.1 = own.1.saturating_add(amount(trial));
        }
    }
    let mut sums = ClusterSums::default();
    for (all, late) in clusters.into_values() {
        sums.add(all, late);
    }
    sums
}
