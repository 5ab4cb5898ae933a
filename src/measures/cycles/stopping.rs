//! 5.2: after how many cycles cleaning an end face stops paying, and what the present practice costs
//! against that.
//!
//! A cycle is priced as one cleaning and one look, an end face rejected or given up as a reject.
//! Observed hazards while `least_count` end faces come to a cycle; after that the beta-geometric
//! chance of passing and the pooled chance of a reject. Site-weeks are resampled, all of it is worked
//! out again in every resample.

use rayon::prelude::*;

use super::stopping_cells::{CYCLES, Cleanings, History, cleanings};
use crate::derive::DeriveError;
use crate::measures::evidence::{Evidence, Grouping};
use crate::measures::flag::Flag;
use crate::measures::skipped_cost::draws::REPLICATES;
use crate::measures::table::{Row, Table, Unit, Value};
use crate::settings::Costs;
use crate::stats::Estimate;
use crate::stats::beta_geometric::beta_geometric_quick;
use crate::stats::bootstrap::{Resampled, expanded_percentile, poisson_weight};
use crate::stats::stopping_rule::{Chances, StoppingRule, cost_of_practice, stopping_rule};

const GROUPINGS: [Grouping; 4] =
    [("fleet", &[]), ("stage", &["stage"]), ("family", &["family"]), ("treatment", &["method"])];

/// Minor units of a cycle and of a reject.
#[derive(Clone, Copy, Debug)]
struct Prices {
    cycle: f64,
    reject: f64,
}

impl Prices {
    /// `None` where either costs nothing: a price that is missing decides nothing.
    fn of(costs: &Costs) -> Option<Prices> {
        let minute = costs.labour_hour as f64 / 60.0;
        let minutes = costs.cleaning_minutes + costs.look_minutes;
        let prices = Prices {
            cycle: minutes * minute + costs.cleaning_material as f64,
            reject: costs.reject as f64,
        };
        (prices.cycle > 0.0 && prices.reject > 0.0).then_some(prices)
    }
}

/// What a history says.
struct Told {
    rule: StoppingRule,
    /// Cycles, from the first on, that `least_count` end faces came to.
    observed: usize,
    /// Minor units an end face, given up as it was observed.
    present: Option<f64>,
}

/// Adds the best limit, the cost at every limit, and the present practice's, of every group. No rows
/// where the settings lack a price.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn stopping(
    evidence: &Evidence,
    table: &mut Table,
) -> Result<(), DeriveError> {
    let Some(prices) = Prices::of(evidence.costs()) else { return Ok(()) };
    for (by, columns) in GROUPINGS {
        for group in cleanings(evidence, columns)? {
            group_rows(evidence, by, &group, prices, table);
        }
    }
    Ok(())
}

fn group_rows(
    evidence: &Evidence,
    by: &'static str,
    group: &Cleanings,
    prices: Prices,
    table: &mut Table,
) {
    let rules = evidence.rules();
    let least = u64::from(rules.least_count);
    let history = group.history(|_| 1);
    let Some(own) = told(&history, prices, least, rules.level) else { return };
    let draws: Vec<Option<Told>> = (0..REPLICATES)
        .into_par_iter()
        .map(|replicate| {
            let weight = |at: usize| poisson_weight(rules.seed, replicate, group.clusters[at]);
            told(&group.history(weight), prices, least, rules.level)
        })
        .collect();
    let (made, passed) = (history[0].made, history.iter().map(|at| at.passed));
    let resampled = |value: Option<f64>| Resampled {
        value,
        n: made as f64,
        events: passed.clone().fold(0, u64::saturating_add),
        clusters: group.clusters.len() as u64,
    };
    let interval = |pick: &dyn Fn(&Told) -> Option<f64>| {
        let drawn: Vec<Option<f64>> =
            draws.iter().map(|draw| draw.as_ref().and_then(pick)).collect();
        expanded_percentile(resampled(pick(&own)), &drawn, rules.level)
    };
    let thin = (made < least).then_some(Flag::Thin);
    let row = |quantity, unit, estimate: &Estimate| {
        Row::of(by, group.group.clone(), quantity, unit, estimate).flagged(thin)
    };
    let limit = interval(&|told| Some(told.rule.limit as f64));
    table.rows.push(limit_row(row("stopping-limit", Unit::Cycles, &limit), &own, table));
    let chosen = |limit: usize| {
        let drawn = draws.iter().flatten().count();
        let here = draws.iter().flatten().filter(|told| told.rule.limit == limit).count();
        (drawn > 0).then(|| here as f64 / drawn as f64)
    };
    for limit in 0..=CYCLES {
        let cost = interval(&|told| told.rule.costs.get(limit).copied());
        let excess =
            interval(&|told| Some((told.rule.costs.get(limit)? - told.rule.value).max(0.0)));
        let at_risk = limit.checked_sub(1).map_or(made, |at| history[at].made);
        let own_values = table.fill(&[
            ("cycle", Value::Count(limit as i64)),
            ("at_risk", Value::Count(i64::try_from(at_risk).unwrap_or(i64::MAX))),
            ("chosen", chosen(limit).into()),
            ("excess", money(excess.value)),
            ("excess_low", money(excess.low)),
            ("excess_high", money(excess.high)),
        ]);
        let beyond = (limit > own.observed).then_some(Flag::BeyondData);
        let row = row("cost-at-limit", Unit::Money, &cost).with(own_values).flagged(beyond);
        table.rows.push(row);
    }
    let present = interval(&|told| told.present);
    table.rows.push(row("present-cost", Unit::Money, &present).with(table.fill(&[])));
    let excess = interval(&|told| Some((told.present? - told.rule.value).max(0.0)));
    let beyond = own.is_beyond().then_some(Flag::BeyondData);
    let row = row("present-excess", Unit::Money, &excess).with(table.fill(&[])).flagged(beyond);
    table.rows.push(row);
}

/// Whole minor units: nobody's prices are known more finely.
fn money(value: Option<f64>) -> Value {
    value.map_or(Value::Missing, |value| Value::Money(value.round() as i64))
}

/// The best limit. Where it lies beyond the data it has no estimate: `at_least` says how far they
/// reach, `extended` what the fitted chances would say. An end of the interval out there is open.
fn limit_row(row: Row, own: &Told, table: &Table) -> Row {
    let observed = own.observed as f64;
    let mut values = vec![("extended", Value::Count(own.rule.limit as i64))];
    let (low, high) = (row.low.map(f64::floor), row.high.map(f64::ceil));
    let mut row = Row { low, high: high.filter(|high| *high < observed), ..row };
    if own.is_beyond() {
        values.push(("at_least", Value::Count(own.observed as i64)));
        row = Row { estimate: None, low: low.map(|low| low.min(observed)), high: None, ..row }
            .flagged([Flag::BeyondData]);
    }
    row.with(table.fill(&values))
}

impl Told {
    /// Whether the data never came to a cycle that did not pay.
    fn is_beyond(&self) -> bool {
        self.rule.limit >= self.observed
    }
}

/// `None` without a cycle.
fn told(history: &History, prices: Prices, least: u64, level: f64) -> Option<Told> {
    let next = |k: usize| history.get(k + 1).map_or(0, |at| at.made);
    let made = history.iter().map(|at| at.made).fold(0, u64::saturating_add);
    let lost = history.iter().map(|at| at.rejected).fold(0, u64::saturating_add);
    if history[0].made == 0 {
        return None;
    }
    let observed = history.iter().take_while(|at| at.made >= least.max(1)).count();
    let passed: Vec<u64> = history.iter().map(|at| at.passed).collect();
    let ended = (0..CYCLES).map(|k| {
        let at = history[k];
        at.made.saturating_sub(at.passed).saturating_sub(next(k))
    });
    let fit = beta_geometric_quick(&passed, &ended.collect::<Vec<u64>>(), level);
    let share = |of: u64, all: u64| of as f64 / all.max(1) as f64;
    let chances: Vec<Chances> = (0..CYCLES)
        .map(|k| match history[k] {
            at if k < observed => {
                Chances { success: share(at.passed, at.made), loss: share(at.rejected, at.made) }
            }
            _ => Chances { success: fit.hazard(k as u32 + 1), loss: share(lost, made) },
        })
        .collect();
    // Of those whose next step is known: given up, or cleaned again.
    let giving_up: Vec<f64> = (0..CYCLES)
        .map(|k| match (history[k].left, next(k)) {
            (_, 0) => 1.0,
            (left, on) => left as f64 / (left as f64 + on as f64),
        })
        .collect();
    let rule = stopping_rule(&chances, prices.cycle, prices.reject);
    let present = cost_of_practice(&chances, &giving_up, prices.cycle, prices.reject);
    Some(Told { rule, observed, present })
}
