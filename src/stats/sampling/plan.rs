//! Single sampling plans through two points: rarely an alarm where the share is what it should be, nearly always one
//! where it is what it must not be.

use crate::stats::tails::binomial::binomial_at_most;
use crate::stats::tails::hypergeometric::{DrawCell, draw_tail};

/// What a plan must hold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Demand {
    /// Share at which it should be silent.
    pub good: f64,
    /// Share at which it should give the alarm; above `good`.
    pub bad: f64,
    /// Most chance of an alarm at `good`.
    pub false_alarm: f64,
    /// Most chance of silence at `bad`.
    pub missed: f64,
}

/// So many are looked at, and more than `accept` bad ones give the alarm.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Plan {
    /// Units looked at.
    pub sample: u64,
    /// Most bad ones among them without an alarm.
    pub accept: u64,
}

impl Plan {
    /// Chance of no alarm in a stream with this share of bad ones.
    ///
    /// Source: the binomial distribution; type B operating characteristic, Hald (1981), Statistical Theory of Sampling
    /// Inspection by Attributes.
    pub fn silent(&self, share: f64) -> f64 {
        binomial_at_most(self.accept, self.sample, share)
    }

    /// Chance of no alarm in a lot with so many bad ones.
    ///
    /// Source: the hypergeometric distribution; type A operating characteristic, Hald (1981).
    pub fn silent_in_lot(&self, lot: u64, bad: u64) -> f64 {
        if bad <= self.accept || self.sample <= self.accept {
            return 1.0;
        }
        if self.sample >= lot {
            return 0.0;
        }
        let cell = DrawCell { total: lot, marked: bad, drawn: self.sample };
        (1.0 - draw_tail(&[cell], self.accept + 1).p).max(0.0)
    }
}

/// The smallest plan of at most `most` units for a stream, exact. None where there is none, or where the demand is none.
///
/// Source: for every number accepted the smallest sample that finds `bad`, as Guenther (1969), J. Qual. Technol. 1,
/// 105-109 [pages from memory]; chances from the binomial distribution.
pub fn stream_plan(demand: &Demand, most: u64) -> Option<Plan> {
    let Demand { good, bad, .. } = *demand;
    let is_one = good >= 0.0 && good < bad && bad <= 1.0;
    if !is_one {
        return None;
    }
    smallest(demand, most, &|plan| plan.silent(good), &|plan| plan.silent(bad))
}

/// The same for a lot: `good` and `bad` in whole units of the lot, the bad ones rounded up, the good ones down. None where
/// only the whole lot would do.
pub fn lot_plan(demand: &Demand, lot: u64) -> Option<Plan> {
    let good = (demand.good * lot as f64 + 1e-9).floor() as u64;
    let bad = (demand.bad * lot as f64 - 1e-9).ceil() as u64;
    if !(demand.good >= 0.0 && demand.bad <= 1.0) || bad <= good {
        return None;
    }
    let silent = |of: u64| move |plan: &Plan| plan.silent_in_lot(lot, of);
    smallest(demand, lot.saturating_sub(1), &silent(good), &silent(bad))
}

/// What a chance may lie beyond its bound by rounding.
const EVEN: f64 = 1e-12;

/// A sample large enough to find the bad share grows with the number accepted, so the first number at which the good
/// share stays silent gives the smallest plan.
fn smallest(
    demand: &Demand,
    most: u64,
    at_good: &dyn Fn(&Plan) -> f64,
    at_bad: &dyn Fn(&Plan) -> f64,
) -> Option<Plan> {
    let mut from = 1;
    for accept in 0..most {
        let misses = |sample: u64| at_bad(&Plan { sample, accept }) > demand.missed + EVEN;
        from = from.max(accept + 1);
        if misses(most) {
            return None;
        }
        let (mut low, mut high) = (from, most);
        // Up in doubling steps first: plans are small beside what is allowed.
        let mut step = 1;
        while low + step < high && misses(low + step) {
            low += step;
            step *= 2;
        }
        high = high.min(low + step);
        while low < high {
            let middle = low + (high - low) / 2;
            if misses(middle) { low = middle + 1 } else { high = middle }
        }
        let plan = Plan { sample: low, accept };
        if at_good(&plan) >= 1.0 - demand.false_alarm - EVEN {
            return Some(plan);
        }
        from = low;
    }
    None
}
