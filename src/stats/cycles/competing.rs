//! Incidence of an event in discrete time, where other events compete and units are censored.
//!
//! Promises incidences that, with survival, sum to one. Stops at the last time given: nothing is
//! extrapolated.

use crate::stats::estimate::{Estimate, Warning};
use crate::stats::shares::clustered::{ClusterSums, effective_share, t_over_normal};
use crate::stats::shares::proportion::wilson;
use crate::stats::special::input;
use crate::stats::special::quantile::normal_quantile;

/// Fewest events for which the normal interval is taken without a warning (common practice).
const ENOUGH_EVENTS: u64 = 5;

/// Degrees of freedom that limits of units in clusters have at least: with one or two events a quantile of as many would
/// reach over nearly all of the scale, though so few events of many units cannot be many (shown by simulation).
const LEAST_FREEDOM: f64 = 4.0;

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
    let path = Path::of(steps, kinds_of(steps));
    let error = |t: usize, kind: usize| {
        let se = path.variance(t, kind).sqrt();
        Error { se, reach: se }
    };
    let hazard = |t: usize| wilson(steps[t].events as f64, path.at_risk[t] as f64, level);
    rows(steps, &path, error, hazard, level)
}

/// As [`aalen_johansen`], for units that come in clusters which resemble each other: the steps of each
/// cluster, all at the same successive times.
///
/// The variance sums, over clusters, the square of what the cluster's units contribute to the
/// incidence (their influences), times `m / (m - 1)`, and is never below that of independent units.
/// Its quantile is Student's, one degree of freedom less than the effective number of clusters, by
/// units or by those with the rarer outcome, whichever is less, but at least four. Hazards: as `effective_share`.
/// With one unit a cluster the variance is that of [`aalen_johansen`] times `m / (m - 1)`.
///
/// Source: the infinitesimal jackknife of [`aalen_johansen`], grouped: Lin & Wei (1989), J. Am. Stat.
/// Assoc. 84, 1074-1078; degrees of freedom: Korn & Graubard (1998), Surv. Methodol. 24, 193-201 [both
/// from memory]; that limits hold their level is shown by simulation.
pub fn aalen_johansen_clustered(clusters: &[Vec<Step>], level: f64) -> Incidence {
    let steps = pooled(clusters);
    let kinds = kinds_of(&steps);
    let path = Path::of(&steps, kinds);
    let parts: Vec<Part> = clusters.iter().map(|own| Part::of(own, steps.len())).collect();
    let errors: Vec<Vec<Error>> =
        (0..kinds).map(|kind| path.clustered_errors(&parts, kind, level)).collect();
    let hazard = |t: usize| {
        let mut sums = ClusterSums::default();
        for part in &parts {
            sums.add(part.at_risk[t], part.counts(t, 0));
        }
        effective_share(&sums, level)
    };
    rows(&steps, &path, |t, kind| errors[kind][t], hazard, level)
}

fn kinds_of(steps: &[Step]) -> usize {
    1 + steps.iter().map(|step| step.competing.len()).max().unwrap_or(0)
}

/// All clusters as one.
fn pooled(clusters: &[Vec<Step>]) -> Vec<Step> {
    let mut all: Vec<Step> = Vec::new();
    for own in clusters {
        all.resize(all.len().max(own.len()), Step::default());
        for (sum, step) in all.iter_mut().zip(own) {
            sum.events = sum.events.saturating_add(step.events);
            sum.censored = sum.censored.saturating_add(step.censored);
            let kinds = sum.competing.len().max(step.competing.len());
            sum.competing.resize(kinds, 0);
            for (sum, count) in sum.competing.iter_mut().zip(&step.competing) {
                *sum = sum.saturating_add(*count);
            }
        }
    }
    all
}

/// Standard error of an incidence.
#[derive(Clone, Copy)]
struct Error {
    se: f64,
    /// The same, widened for the degrees of freedom that it rests on.
    reach: f64,
}

fn rows(
    steps: &[Step],
    path: &Path,
    error: impl Fn(usize, usize) -> Error,
    hazard: impl Fn(usize) -> Estimate,
    level: f64,
) -> Incidence {
    let kinds = path.kinds;
    let mut rows = Vec::with_capacity(steps.len());
    let mut so_far = vec![0_u64; kinds];
    for (k, step) in steps.iter().enumerate() {
        for (kind, sum) in so_far.iter_mut().enumerate() {
            *sum = sum.saturating_add(step.count(kind));
        }
        let errors: Vec<Error> = (0..kinds).map(|kind| error(k, kind)).collect();
        let mut estimates = (0..kinds)
            .map(|kind| path.estimate(k, kind, errors[kind].reach, so_far[kind], level))
            .collect::<Vec<_>>();
        let event = estimates.remove(0);
        rows.push(IncidenceRow {
            at_risk: path.at_risk[k],
            survival: path.survival[k + 1],
            event,
            event_se: errors[0].se,
            competing: estimates,
            competing_se: errors[1..].iter().map(|error| error.se).collect(),
            hazard: hazard(k),
        });
    }
    let median = median(&rows);
    Incidence { rows, median }
}

/// The steps of one cluster, and its units at risk at every time.
struct Part<'s> {
    steps: &'s [Step],
    at_risk: Vec<u64>,
}

impl Part<'_> {
    fn of(steps: &[Step], times: usize) -> Part<'_> {
        let mut left = steps.iter().fold(0, |sum: u64, step| sum.saturating_add(step.leaving()));
        let mut at_risk = Vec::with_capacity(times);
        for time in 0..times {
            at_risk.push(left);
            left = left.saturating_sub(steps.get(time).map_or(0, Step::leaving));
        }
        Part { steps, at_risk }
    }

    fn counts(&self, time: usize, kind: usize) -> u64 {
        self.steps.get(time).map_or(0, |step| step.count(kind))
    }

    /// Units that had the event or a competing one.
    fn gone(&self, time: usize) -> u64 {
        let gone = |step: &Step| step.leaving().saturating_sub(step.censored);
        self.steps.get(time).map_or(0, gone)
    }
}

/// Effective number of clusters: `(sum n)^2 / sum n^2`. Source: Kish (1965), Survey Sampling [from memory].
fn effective(sizes: impl Iterator<Item = u64>) -> f64 {
    let (mut sum, mut squares) = (0.0, 0.0);
    for size in sizes {
        sum += size as f64;
        squares += (size as f64).powi(2);
    }
    if squares > 0.0 { sum * sum / squares } else { 0.0 }
}

/// Survival and incidences, with the counts they come from.
struct Path {
    /// The event, and what competes with it.
    kinds: usize,
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
            kinds,
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

    /// Standard errors of the incidence of `kind` after every time, of units in clusters.
    ///
    /// A cluster's influence on the incidence at `t` is the sum over times `s` up to it of
    /// `(S(s-) (d - h r) - S(s-) (F(t) - F(s)) / S(s) (d_any - h_any r)) / Y(s)`, with `d` events of
    /// `r` units at risk. Split by what `t` enters, so that one walk over the times serves all of them.
    fn clustered_errors(&self, parts: &[Part], kind: usize, level: f64) -> Vec<Error> {
        let times = self.at_risk.len();
        let units = |part: &Part| part.at_risk.first().copied().unwrap_or(0);
        let clusters = parts.iter().filter(|part| units(part) > 0).count() as f64;
        let small = if clusters > 1.0 { clusters / (clusters - 1.0) } else { 1.0 };
        let mut squares = vec![0.0; times];
        for part in parts {
            let (mut at, mut after, mut after_weighted) = (0.0, 0.0, 0.0);
            for (t, square) in squares.iter_mut().enumerate() {
                if self.at_risk[t] > 0 {
                    let (risk, of_part) = (self.at_risk[t] as f64, part.at_risk[t] as f64);
                    let any: f64 = self.hazards[t].iter().sum();
                    let (before, survival) = (self.survival[t], self.survival[t + 1]);
                    let seen = part.counts(t, kind) as f64;
                    at += before / risk * (seen - self.hazards[t][kind] * of_part);
                    if survival > 0.0 {
                        let gone = part.gone(t) as f64;
                        let change = before / survival / risk * (gone - any * of_part);
                        after += change;
                        after_weighted += self.incidence[t][kind] * change;
                    }
                }
                *square += (at - self.incidence[t][kind] * after + after_weighted).powi(2);
            }
        }
        let by_units = effective(parts.iter().map(units));
        let mut so_far = vec![0_u64; parts.len()];
        (0..times)
            .map(|t| {
                for (sum, part) in so_far.iter_mut().zip(parts) {
                    *sum = sum.saturating_add(part.counts(t, kind));
                }
                let others = || parts.iter().zip(&so_far).map(|(part, had)| units(part) - had);
                let rarer = match so_far.iter().sum::<u64>() <= others().sum() {
                    true => effective(so_far.iter().copied()),
                    false => effective(others()),
                };
                let se = (small * squares[t]).max(self.variance(t, kind)).sqrt();
                let df = (by_units.min(rarer) - 1.0).max(LEAST_FREEDOM);
                Error { se, reach: se * t_over_normal(level, df) }
            })
            .collect()
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
