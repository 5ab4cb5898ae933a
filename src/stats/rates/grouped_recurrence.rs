//! Repeated events of units that are watched for different times: the mean cumulative function, from
//! counts of how many units left when and which events of one unit met.
//!
//! Promises to need no model of how events follow each other, nor the units themselves: counts add up
//! over any split of them. Stops at units that are watched from age 0 to an end, and at ages that are
//! whole numbers.

use crate::stats::estimate::Estimate;
use crate::stats::special::input;
use crate::stats::special::quantile::normal_quantile;

/// Largest age that is taken: tables have a cell an age.
const OLDEST: u32 = 10_000;

/// Counts of units that are watched from age 0 on. An event after its unit's end does not belong here.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct GroupedHistories {
    /// Age at which watches ended, and how many units ended there.
    pub ended: Vec<(u32, u64)>,
    /// Age of events, age at which the watch of their unit ended, and how many events.
    pub events: Vec<(u32, u32, u64)>,
    /// Ages of two events of one unit, in either order and each event with itself too, and pairs: the sum
    /// over units of the product of their events at both ages.
    pub pairs: Vec<(u32, u32, u64)>,
}

/// The mean cumulative function just after one age.
#[derive(Clone, Debug, PartialEq)]
pub struct MeanCumulative {
    /// Age at which events happened, in the unit of the ages given.
    pub age: f64,
    /// Units watched at that age; one that ends there is among them.
    pub at_risk: u64,
    /// Events at that age.
    pub events: u64,
    /// Mean number of events a unit up to that age, with a Wald interval on the log scale.
    pub mean: Estimate,
    /// Variance of the mean, robust against dependence inside a unit.
    pub variance: f64,
}

/// Counts by age: what is left of the histories once sorted.
struct ByAge {
    /// Units whose watch ended at each age.
    ended: Vec<f64>,
    /// Units watched at each age.
    at_risk: Vec<f64>,
    events: Vec<f64>,
}

fn by_age(histories: &GroupedHistories) -> ByAge {
    let kept = |age: &u32| *age <= OLDEST;
    let ends = histories.ended.iter().map(|(age, _)| *age);
    let oldest = ends.chain(histories.events.iter().map(|(age, _, _)| *age)).filter(kept).max();
    let ages = oldest.map_or(0, |age| age as usize + 1);
    let (mut ended, mut events) = (vec![0.0; ages], vec![0.0; ages]);
    for (age, units) in histories.ended.iter().filter(|(age, _)| kept(age)) {
        ended[*age as usize] += *units as f64;
    }
    for (age, _, count) in histories.events.iter().filter(|(age, _, _)| kept(age)) {
        events[*age as usize] += *count as f64;
    }
    let mut at_risk = ended.clone();
    for age in (1..ages).rev() {
        at_risk[age - 1] += at_risk[age];
    }
    ByAge { ended, at_risk, events }
}

/// Nelson's mean cumulative function at every age with an event, in order of age; variances times
/// `phi` (below 1 counts as 1), for units that resemble each other.
///
/// Ages above 10,000, and events at an age at which no unit is watched, are left out.
///
/// Variance: the sum over units of the squared contributions, multiplied out so that only sums over units
/// are needed; without a small-sample factor (Nelson's own, unbiased, differs slightly).
///
/// Source: Nelson (1988), J. Qual. Technol. 20, 24-35 (estimate); Lawless & Nadeau (1995),
/// Technometrics 37, 158-168, section 2 (variance) [section from memory].
pub fn grouped_mean_cumulative(
    histories: &GroupedHistories,
    phi: f64,
    level: f64,
) -> Vec<MeanCumulative> {
    let ages = by_age(histories);
    let units: f64 = ages.ended.iter().sum();
    let known = |age: u32| ages.at_risk.get(age as usize).copied().filter(|n| *n > 0.0);
    // What is taken off a watched unit by each age: the sum of the steps of the mean, each over the
    // units at risk.
    let mut shift = vec![0.0; ages.at_risk.len()];
    let mut out: Vec<MeanCumulative> = Vec::new();
    let (mut mean, mut total, mut so_far) = (0.0, 0.0_f64, 0.0);
    let (mut squares, mut crossed) = (Vec::new(), Vec::new());
    for (a, b, count) in &histories.pairs {
        if let (Some(x), Some(y)) = (known(*a), known(*b)) {
            squares.push(((*a).max(*b) as usize, *count as f64 / x / y));
        }
    }
    for (age, end, count) in &histories.events {
        if let Some(x) = known(*age) {
            crossed.push((*age as usize, *end as usize, *count as f64 / x));
        }
    }
    for age in 0..ages.at_risk.len() {
        let (events, at_risk) = (ages.events[age], ages.at_risk[age]);
        if events > 0.0 && at_risk > 0.0 {
            mean += events / at_risk;
            total += events;
            so_far += events / at_risk / at_risk;
        }
        shift[age] = so_far;
        if events <= 0.0 || at_risk <= 0.0 {
            continue;
        }
        let paired: f64 = squares.iter().filter(|(at, _)| *at <= age).map(|(_, part)| part).sum();
        let met: f64 = crossed
            .iter()
            .filter(|(at, _, _)| *at <= age)
            .map(|(_, end, part)| part * shift[(*end).min(age)])
            .sum();
        let gone: f64 = (0..age).map(|end| ages.ended[end] * shift[end] * shift[end]).sum::<f64>();
        let shifted = gone + at_risk * so_far * so_far;
        let variance = input::scatter(phi) * (paired - 2.0 * met + shifted).max(0.0);
        out.push(MeanCumulative {
            age: age as f64,
            at_risk: at_risk as u64,
            events: events as u64,
            mean: log_interval(mean, variance, units, total as u64, level),
            variance,
        });
    }
    out
}

/// Wald interval of the mean on the log scale.
fn log_interval(mean: f64, variance: f64, n: f64, events: u64, level: f64) -> Estimate {
    let reach = normal_quantile(level) * variance.sqrt() / mean;
    Estimate {
        value: input::finite(mean),
        low: input::finite(mean * (-reach).exp()),
        high: input::finite(mean * reach.exp()),
        level,
        n,
        events,
        method: "mean cumulative function, log Wald",
        warnings: Vec::new(),
    }
}
