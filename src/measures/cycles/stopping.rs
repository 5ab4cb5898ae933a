//! 5.2: after how many cycles cleaning an end face stops paying, and what the present practice costs
//! against that.
//!
//! A cycle is priced as one cleaning and one look, an end face rejected or given up as a reject. What is
//! rejected still contaminated is given up: a decision, like leaving it, and no chance of the cycle.
//! Observed hazards while `least_count` end faces come to a cycle; after that the beta-geometric
//! chance of passing and the pooled chance of a defect. Site-weeks are resampled, all of it is worked
//! out again in every resample. The advice is the shortest limit that the records reach whose cost lies
//! within the interval of the least they tell; what the fitted chances say beyond is shown, not advised.

use super::declared::{By, Own, Quantity, Row, Table};
use super::stopping_cells::{
    CYCLES, Cleanings, Counting, History, cleanings, of_all, of_one_method,
};
use super::stopping_draws::Drawn;
use crate::by;
use crate::derive::counts::{CycleTrials, Family, Method, Stage};
use crate::derive::{ByColumns, DeriveError};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::months::a_year;
use crate::measures::results::Money;
use crate::measures::skipped_cost::draws::REPLICATES;
use crate::settings::Costs;
use crate::stats::Estimate;
use crate::stats::beta_geometric::beta_geometric_quick;
use crate::stats::bootstrap::{Resampled, expanded_percentile};
use crate::stats::stopping_rule::{Chances, StoppingRule, cost_of_practice, stopping_rule};

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

/// What a history comes to.
struct Outcome {
    rule: StoppingRule,
    /// Cycles, from the first on, that `least_count` end faces came to.
    observed: usize,
    /// Minor units an end face, given up as it was observed.
    present: Option<f64>,
    /// End faces that were cleaned.
    made: u64,
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
    let groupings: [(By, ByColumns<CycleTrials>, Counting); 4] = [
        (By::Fleet, by!(), of_all),
        (By::Stage, by!(Stage), of_all),
        (By::Family, by!(Family), of_all),
        // By method as in the rest of the table: up to the first switch.
        (By::Treatment, by!(Method), of_one_method),
    ];
    let rules = evidence.rules();
    let of = |history: &History| outcome(history, prices, rules.least_count.into());
    let mut groups: Vec<(By, Cleanings, Outcome)> = Vec::new();
    for (by, columns, counting) in groupings {
        let found = cleanings(evidence, &columns, counting)?.into_iter();
        let cleaned =
            found.filter_map(|group| of(&group.history()).map(|found| (by, group, found)));
        groups.extend(cleaned);
    }
    let drawn = Drawn::of(groups.iter().map(|(_, group, _)| group));
    let draws = drawn.outcomes((rules.seed, REPLICATES), of);
    for ((by, group, found), draws) in groups.iter().zip(&draws) {
        group_rows(evidence, *by, (group, found), draws, table);
    }
    Ok(())
}

/// The rows of one group, of what was found and what was found in its resamples.
fn group_rows(
    evidence: &Evidence,
    by: By,
    (group, found): (&Cleanings, &Outcome),
    draws: &[Option<Outcome>],
    table: &mut Table,
) {
    let rules = evidence.rules();
    let least = u64::from(rules.least_count);
    let history = group.history();
    let (made, passed) = (history[0].made, history.iter().map(|at| at.passed));
    let resampled = |value: Option<f64>| Resampled {
        value,
        n: made as f64,
        events: passed.clone().fold(0, u64::saturating_add),
        clusters: group.clusters.len() as u64,
    };
    let interval = |pick: &dyn Fn(&Outcome) -> Option<f64>| {
        let drawn: Vec<Option<f64>> =
            draws.iter().map(|draw| draw.as_ref().and_then(pick)).collect();
        expanded_percentile(resampled(pick(found)), &drawn, rules.level)
    };
    let thin = (made < least).then_some(Flag::Thin);
    let row = |quantity, estimate: &Estimate, own| {
        Row::of(by, group.group.clone(), quantity, estimate, own).flagged(thin)
    };
    let limit = interval(&|outcome| Some(outcome.rule.limit as f64));
    let limit = row(Quantity::StoppingLimit, &limit, Own::default());
    let best = found.best_of(found.observed);
    let least_cost = interval(&|outcome| outcome.cost(best));
    let advice = Advice::of(found, least_cost.high);
    table.rows.push(limit_row(limit, found, advice));
    let reached = found.observed;
    let chosen = |limit: usize| {
        let drawn = draws.iter().flatten().count();
        let here = draws.iter().flatten().filter(|outcome| outcome.best_of(reached) == limit);
        (drawn > 0 && limit <= reached).then(|| here.count() as f64 / drawn as f64)
    };
    for limit in 0..=CYCLES {
        let cost = interval(&|outcome| outcome.cost(limit));
        let excess = interval(&|outcome| {
            Some(outcome.cost(limit)? - outcome.cost(outcome.best_of(reached))?)
        });
        let own = Own {
            cycle: Some(limit as u32),
            at_risk: Some(limit.checked_sub(1).map_or(made, |at| history[at].made)),
            chosen: chosen(limit),
            excess: excess.value.map(money),
            excess_low: excess.low.map(money),
            excess_high: excess.high.map(money),
            ..Own::default()
        };
        let beyond = (limit > found.observed).then_some(Flag::BeyondData);
        table.rows.push(row(Quantity::CostAtLimit, &cost, own).flagged(beyond));
    }
    let present = interval(&|outcome| outcome.present);
    table.rows.push(row(Quantity::PresentCost, &present, Own::default()));
    let over = |outcome: &Outcome| Some(outcome.present? - outcome.cost(advice.limit)?);
    let yearly = a_year(evidence.months.named(None).recorded);
    let own = || Own { advised: Some(advice.limit as u32), ..Own::default() };
    table.rows.push(row(Quantity::PresentExcess, &interval(&over), own()));
    let of_a_year = interval(&|outcome| Some(over(outcome)? * outcome.made as f64 * yearly));
    table.rows.push(row(Quantity::PresentExcessYear, &of_a_year, own()));
}

/// Limits that the records reach and cannot tell from the best of them.
#[derive(Clone, Copy, Debug)]
struct Advice {
    /// The shortest: after so many cycles to give up.
    limit: usize,
    /// The longest.
    flat_to: usize,
}

impl Advice {
    /// Those whose cost is no more than the high end of the least cost.
    fn of(found: &Outcome, high: Option<f64>) -> Advice {
        let best = found.best_of(found.observed);
        let high = high.or(found.cost(best)).unwrap_or(0.0);
        let within = |limit: &usize| found.cost(*limit).is_some_and(|cost| cost <= high);
        let limit = (0..=best).find(within).unwrap_or(best);
        let flat_to = (best..=found.observed).rev().find(within).unwrap_or(best);
        Advice { limit, flat_to }
    }
}

/// Whole minor units: nobody's prices are known more finely.
fn money(value: f64) -> Money {
    Money(value.round() as i64)
}

/// The best limit. Where it lies beyond the data it has no estimate: `at_least` says how far they
/// reach, `extended` what the fitted chances would say. An end of the interval out there is open.
fn limit_row(row: Row, found: &Outcome, advice: Advice) -> Row {
    let observed = found.observed as f64;
    let own = Own {
        extended: Some(found.rule.limit as u32),
        advised: Some(advice.limit as u32),
        flat_to: Some(advice.flat_to as u32),
        ..row.own
    };
    let (low, high) = (row.low.map(f64::floor), row.high.map(f64::ceil));
    let high = high.filter(|high| *high < observed);
    if !found.is_beyond() {
        return Row { low, high, own, ..row };
    }
    let own = Own { at_least: Some(found.observed as u32), ..own };
    let low = low.map(|low| low.min(observed));
    Row { estimate: None, low, high: None, own, ..row }.flagged([Flag::BeyondData])
}

impl Outcome {
    /// Whether the data never came to a cycle that did not pay.
    fn is_beyond(&self) -> bool {
        self.rule.limit >= self.observed
    }

    /// Minor units an end face that is given up after so many cycles.
    fn cost(&self, limit: usize) -> Option<f64> {
        self.rule.costs.get(limit).copied()
    }

    /// The limit up to `last` that costs least; of equal ones the shortest.
    fn best_of(&self, last: usize) -> usize {
        let costs = self.rule.costs.iter().take(last + 1).enumerate();
        costs.min_by(|a, b| a.1.total_cmp(b.1)).map_or(0, |(limit, _)| limit)
    }
}

/// `None` without a cycle.
fn outcome(history: &History, prices: Prices, least: u64) -> Option<Outcome> {
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
    let fit = beta_geometric_quick(&passed, &ended.collect::<Vec<u64>>());
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
    Some(Outcome { rule, observed, present, made: history[0].made })
}
