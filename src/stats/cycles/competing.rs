//! Incidence of an event in discrete time, where other events compete and units are censored.
//!
//! Promises incidences that, with survival, sum to one. Stops at the last time given: nothing is
//! extrapolated.

use crate::stats::estimate::{Estimate, Warning};
use crate::stats::shares::proportion::wilson;
use crate::stats::special::input;
use crate::stats::special::quantile::normal_quantile;

/// Fewest events for which the normal interval is taken without a warning (common practice).
const ENOUGH_EVENTS: u64 = 5;

/// What happened at one time, to units that had come that far. Censored units leave after the
/// events of their time.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Step {
    /// Units that have the event at this time.
    pub events: u64,
    /// Units that have each of the competing events; a kind that is missing at a time has none.
    pub competing: Vec<u64>,
    /// Units that were not watched beyond this time.
    pub censored: u64,
}

impl Step {
    fn leaving(&self) -> u64 {
        self.competing
            .iter()
            .fold(self.events.saturating_add(self.censored), |sum, &c| sum.saturating_add(c))
    }

    fn count(&self, kind: usize) -> u64 {
        if kind == 0 { self.events } else { self.competing.get(kind - 1).copied().unwrap_or(0) }
    }
}

/// State after one time.
#[derive(Clone, Debug, PartialEq)]
pub struct IncidenceRow {
    /// Units at risk at the time.
    pub at_risk: u64,
    /// Probability of neither the event nor a competing one so far, in [0, 1].
    pub survival: f64,
    /// Cumulative incidence of the event: the probability that it has come by this time, in [0, 1].
    pub event: Estimate,
    /// Standard error of the cumulative incidence of the event.
    pub event_se: f64,
    /// Cumulative incidence of each competing event, in [0, 1].
    pub competing: Vec<Estimate>,
    /// Standard errors of the cumulative incidences of the competing events.
    pub competing_se: Vec<f64>,
    /// Hazard at the time: events over units at risk, in [0, 1].
    pub hazard: Estimate,
}

/// Median time of the event: positions in the rows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Median {
    /// Place of the first time with an incidence of half or more; `None` if not reached.
    pub value: Option<usize>,
    /// Place of the first time whose upper limit reaches half; `None` if not reached.
    pub low: Option<usize>,
    /// Place of the first time whose lower limit reaches half; `None` if not reached.
    pub high: Option<usize>,
}

/// Cumulative incidences over time.
#[derive(Clone, Debug, PartialEq)]
pub struct Incidence {
    /// One row a time, in the order given.
    pub rows: Vec<IncidenceRow>,
    /// Median time of the event.
    pub median: Median,
}

/// Cumulative incidence of an event and of the events that compete with it.
///
/// `steps` are the counts at successive times; all units start at risk. Intervals are normal on the
/// scale of `ln(-ln F)`. Where it has no width (F of 0 or 1) the limit is exact for a binomial with the
/// units still at risk, which is conservative. Under 5 events so far: `Approximate`.
///
/// Source: Aalen & Johansen (1978), Scand. J. Stat. 5, 141-150. Variance: the infinitesimal jackknife
/// over units, as R's package `survival` prints it; with grouped times it is the multinomial variance
/// `sum_s (1/Y) Var[S(s-) 1(event) - S(s-) (F(t) - F(s)) / S(s) 1(any)]`. Interval: Choudhury (2002),
/// Stat. Med. 21, 1129-1144 [from memory].
pub fn aalen_johansen(steps: &[Step], level: f64) -> Incidence {
    let kinds = 1 + steps.iter().map(|s| s.competing.len()).max().unwrap_or(0);
    let path = Path::of(steps, kinds);
    let mut rows = Vec::with_capacity(steps.len());
    let mut so_far = vec![0_u64; kinds];
    for (k, step) in steps.iter().enumerate() {
        for (kind, sum) in so_far.iter_mut().enumerate() {
            *sum = sum.saturating_add(step.count(kind));
        }
        let errors: Vec<f64> = (0..kinds).map(|kind| path.variance(k, kind).sqrt()).collect();
        let mut estimates = (0..kinds)
            .map(|kind| path.estimate(k, kind, errors[kind], so_far[kind], level))
            .collect::<Vec<_>>();
        let event = estimates.remove(0);
        rows.push(IncidenceRow {
            at_risk: path.at_risk[k],
            survival: path.survival[k + 1],
            event,
            event_se: errors[0],
            competing: estimates,
            competing_se: errors[1..].to_vec(),
            hazard: wilson(step.events as f64, path.at_risk[k] as f64, level),
        });
    }
    let median = median(&rows);
    Incidence { rows, median }
}

/// Survival and incidences, with the counts they come from.
struct Path {
    at_risk: Vec<u64>,
    /// Survival before each time, and after the last.
    survival: Vec<f64>,
    /// Hazard at each time, of each kind.
    hazards: Vec<Vec<f64>>,
    /// Incidence after each time, of each kind.
    incidence: Vec<Vec<f64>>,
}

impl Path {
    fn of(steps: &[Step], kinds: usize) -> Self {
        let mut left = steps.iter().fold(0, |sum: u64, s| sum.saturating_add(s.leaving()));
        let (mut survival, mut total) = (1.0, vec![0.0; kinds]);
        let mut path = Self {
            at_risk: Vec::new(),
            survival: vec![survival],
            hazards: Vec::new(),
            incidence: Vec::new(),
        };
        for step in steps {
            let risk = left.max(1) as f64;
            let hazards: Vec<f64> = (0..kinds).map(|kind| step.count(kind) as f64 / risk).collect();
            for (sum, hazard) in total.iter_mut().zip(&hazards) {
                *sum = (*sum + survival * hazard).min(1.0);
            }
            // Counted from the survivors, so that it is exactly 0 when none is left.
            let gone = step.leaving().saturating_sub(step.censored);
            survival *= left.saturating_sub(gone) as f64 / risk;
            if left == 0 {
                survival = path.survival[path.survival.len() - 1];
            }
            path.at_risk.push(left);
            path.survival.push(survival);
            path.hazards.push(hazards);
            path.incidence.push(total.clone());
            left = left.saturating_sub(step.leaving());
        }
        path
    }

    /// Variance of the incidence of `kind` after time `t`.
    fn variance(&self, t: usize, kind: usize) -> f64 {
        let term = |s: usize| {
            if self.at_risk[s] == 0 {
                return 0.0;
            }
            let before = self.survival[s];
            let after = self.survival[s + 1];
            let later = if after > 0.0 {
                before * (self.incidence[t][kind] - self.incidence[s][kind]) / after
            } else {
                0.0
            };
            let of_kind = self.hazards[s][kind];
            let any: f64 = self.hazards[s].iter().sum();
            let mean = before * of_kind - later * any;
            let square = of_kind * (before - later).powi(2) + (any - of_kind) * later * later;
            (square - mean * mean).max(0.0) / self.at_risk[s] as f64
        };
        (0..=t).map(term).sum()
    }

    fn estimate(&self, t: usize, kind: usize, se: f64, events: u64, level: f64) -> Estimate {
        let value = self.incidence[t][kind];
        let mut estimate = Estimate {
            value: Some(value),
            low: Some(0.0),
            high: Some(1.0),
            level,
            n: self.at_risk[0] as f64,
            events,
            method: "Aalen-Johansen, log-log",
            warnings: Vec::new(),
        };
        if self.at_risk[0] == 0 {
            estimate.value = None;
            estimate.warnings.push(Warning::NoData);
            return estimate;
        }
        // The last time with units at risk bounds what a run of none, or of all, can tell.
        let least = self.at_risk[..=t].iter().rev().find(|&&n| n > 0).map_or(1.0, |&n| n as f64);
        let edge = (input::tail(level).ln() / least).exp();
        if value <= 0.0 {
            estimate.high = Some(1.0 - edge);
        } else if value >= 1.0 {
            estimate.low = Some(edge);
        } else {
            let reach = (normal_quantile(level) * se / (value * value.ln())).abs();
            estimate.low = Some((value.ln() * reach.exp()).exp().min(value));
            estimate.high = Some((value.ln() * (-reach).exp()).exp().max(value));
        }
        if events < ENOUGH_EVENTS {
            estimate.warnings.push(Warning::Approximate);
        }
        estimate
    }
}

fn median(rows: &[IncidenceRow]) -> Median {
    let first = |pick: fn(&Estimate) -> Option<f64>| {
        rows.iter().position(|row| pick(&row.event).is_some_and(|f| f >= 0.5))
    };
    let value = first(|e| e.value);
    // Before the first value the upper limit says nothing about data, only about the lack of them.
    Median { value, low: first(|e| e.value.and(e.high)), high: first(|e| e.low) }
}
