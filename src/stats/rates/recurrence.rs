//! Repeated events of units that are watched for different times: the mean cumulative function.
//!
//! Promises to need no model of how events follow each other. Stops at units that are watched from
//! age 0 to an end; `power_law` tests and fits a trend.

use crate::stats::estimate::Estimate;
use crate::stats::special::input;
use crate::stats::special::quantile::normal_quantile;

/// One unit.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct History {
    /// Age at which the watch ended, any unit of time.
    pub end: f64,
    /// Ages at its events, in any order; those after the end do not count.
    pub events: Vec<f64>,
}

/// The mean cumulative function just after one age.
#[derive(Clone, Debug, PartialEq)]
pub struct MeanCumulative {
    /// Age at which events happened.
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

/// Sums of the units' contributions `A_i`, of which those still watched all move by the same
/// amount: `A_i = own_i - shift`.
#[derive(Default)]
struct Contributions {
    watched: f64,
    own: f64,
    own_squared: f64,
    shift: f64,
    left: f64,
}

impl Contributions {
    fn variance(&self) -> f64 {
        let watched =
            self.own_squared - 2.0 * self.shift * self.own + self.watched * self.shift * self.shift;
        (self.left + watched).max(0.0)
    }

    fn leave(&mut self, own: f64) {
        self.watched -= 1.0;
        self.own -= own;
        self.own_squared -= own * own;
        self.left += (own - self.shift).powi(2);
    }

    fn event(&mut self, own: &mut f64, step: f64) {
        self.own += step;
        self.own_squared += step * (2.0 * *own + step);
        *own += step;
    }
}

/// Nelson's mean cumulative function at every age with an event, in order of age.
///
/// Units whose end is not a number at or above 0 are left out. Variance: the sum over units of the
/// squared contributions, without a small-sample factor (Nelson's own, unbiased, differs slightly).
///
/// Source: Nelson (1988), J. Qual. Technol. 20, 24-35 (estimate); Lawless & Nadeau (1995),
/// Technometrics 37, 158-168, section 2 (variance) [section from memory].
pub fn mean_cumulative(units: &[History], level: f64) -> Vec<MeanCumulative> {
    let ends: Vec<f64> = sorted_ends(units);
    let moments = sorted_events(units);
    let mut order: Vec<usize> = (0..units.len()).filter(|i| watched(&units[*i])).collect();
    order.sort_by(|a, b| units[*a].end.total_cmp(&units[*b].end).then(a.cmp(b)));
    let mut leaving = order.into_iter().peekable();
    let mut own = vec![0.0; units.len()];
    let mut sums = Contributions { watched: ends.len() as f64, ..Contributions::default() };
    let (mut mean, mut total) = (0.0, 0);
    let mut out = Vec::new();
    for group in moments.chunk_by(|a, b| a.0 == b.0) {
        let age = group[0].0;
        while let Some(unit) = leaving.next_if(|unit| units[*unit].end < age) {
            sums.leave(own[unit]);
        }
        let at_risk = sums.watched;
        for (_, unit) in group {
            sums.event(&mut own[*unit], 1.0 / at_risk);
        }
        let step = group.len() as f64 / at_risk;
        sums.shift += step / at_risk;
        mean += step;
        total += group.len() as u64;
        let variance = sums.variance();
        out.push(MeanCumulative {
            age,
            at_risk: at_risk as u64,
            events: group.len() as u64,
            mean: log_interval(mean, variance, ends.len() as f64, total, level),
            variance,
        });
    }
    out
}

fn watched(unit: &History) -> bool {
    unit.end.is_finite() && unit.end >= 0.0
}

fn sorted_ends(units: &[History]) -> Vec<f64> {
    units.iter().filter(|u| watched(u)).map(|u| u.end).collect()
}

/// All events inside the watch as `(age, unit)`, by age.
fn sorted_events(units: &[History]) -> Vec<(f64, usize)> {
    let mut all: Vec<(f64, usize)> = units
        .iter()
        .enumerate()
        .filter(|(_, unit)| watched(unit))
        .flat_map(|(i, unit)| {
            let inside = unit.events.iter().filter(|t| (0.0..=unit.end).contains(*t));
            // A negative zero is an age of 0 and must not form a group of its own.
            inside.map(move |t| (t + 0.0, i))
        })
        .collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    all
}

/// Wald interval of the mean on the log scale.
pub(super) fn log_interval(mean: f64, variance: f64, n: f64, events: u64, level: f64) -> Estimate {
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
