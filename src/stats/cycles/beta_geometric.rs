//! Trials until the first success where the chance differs between units, with right censoring.
//!
//! Each unit keeps a chance of its own, drawn from a beta distribution with parameters `a`, `b`.
//! Written in the mean `m = a / (a + b)` and the spread `s = 1 / (a + b)`, the hazard of trial
//! `j + 1` among those still waiting is `m / (1 + j s)`: no gamma functions, and the geometric
//! distribution is `s = 0`, not a limit at infinity. Promises never to invent `a` and `b` where the
//! likelihood has no top inside. Stops at beta mixtures.
//!
//! Intervals are profile-likelihood limits: the likelihood of `a` and `b` is a long ridge, along which Wald
//! limits lie a hundred powers of ten apart, or too close. A limit that the likelihood never reaches is
//! `None`, since the data do not bound that side.

use super::geometric::{Geometric, Trial, common_chance, geometric, trials};
use crate::stats::estimate::{Estimate, Warning};
use crate::stats::special::ascent::{Top, ascend_by, best_start, information};
use crate::stats::special::cholesky::inverse_of;
use crate::stats::special::quantile::{chi_square_upper, normal_quantile};
use crate::stats::special::root::root_within;
use crate::stats::wald::Basis;

/// Range of `ln s` that is searched: from indistinguishable from one common chance to all or
/// nothing.
const LOG_SPREAD: (f64, f64) = (-16.0, 12.0);

/// Gain in log-likelihood below which two fits count as equal: in itself, and in proportion to the
/// log-likelihood, whose last digits are rounding.
const NO_GAIN: (f64, f64) = (1e-9, 1e-13);

/// How far from the maximum a profile limit is sought, on the log or logit scale.
const FARTHEST: f64 = 20.0;

/// How exactly a profile limit is found, on that scale.
const WITHIN: f64 = 1e-7;

/// The beta-geometric distribution that fits best.
#[derive(Clone, Debug, PartialEq)]
pub struct BetaGeometric {
    /// Mean chance of success over all units, that is at the first trial, in [0, 1]; `n` counts trials.
    pub mean: Estimate,
    /// First parameter of the beta distribution, above 0; no value at the edge.
    pub a: Estimate,
    /// Second parameter of the beta distribution, above 0; no value at the edge.
    pub b: Estimate,
    /// Covariance of `(ln a, ln b)` from the observed information; `None` at the edge.
    pub log_covariance: Option<[[f64; 2]; 2]>,
    /// Log-likelihood at the top, or its supremum at the edge.
    pub log_likelihood: f64,
    /// Variance of `ln (a + b)` over that of units which are independent of each other, at least 1: what the test against
    /// a common chance allows for. 1 where units do not come in clusters.
    pub scatter: f64,
    /// Chances by trial.
    pub hazards: Hazards,
}

/// Chances of success by trial among units that failed all earlier ones.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hazards {
    /// At the first trial.
    centre: f64,
    /// `1 / (a + b)`.
    spread: f64,
}

/// Whether the chance differs between units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heterogeneity {
    /// Twice the difference of the log-likelihoods over the scatter, at least 0.
    pub statistic: f64,
    /// Its p value: half the upper tail of chi-square with one degree of freedom, since a common
    /// chance is the edge of the larger model; 1 where the statistic is 0.
    pub p: f64,
}

impl Hazards {
    fn at(top: &Top<2>) -> Hazards {
        Hazards { centre: 1.0 / (1.0 + (-top.at[0]).exp()), spread: top.at[1].exp() }
    }

    /// Chance of success at trial `k` (1, 2, ...) among units that failed all earlier ones:
    /// `a / (a + b + k - 1)`.
    pub fn hazard(&self, k: u32) -> f64 {
        self.centre / (1.0 + self.spread * f64::from(k.max(1) - 1))
    }
}

impl BetaGeometric {
    /// [`Hazards::hazard`].
    pub fn hazard(&self, k: u32) -> f64 {
        self.hazards.hazard(k)
    }

    /// Share of units that succeed within `k` trials.
    pub fn succeeded(&self, k: u32) -> f64 {
        let waiting: f64 = (1..=k).map(|j| (-self.hazard(j)).ln_1p()).sum();
        -waiting.exp_m1()
    }
}

/// Maximum-likelihood beta-geometric distribution with right censoring.
///
/// Arguments as [`trials`]; `level` in (0, 1). Intervals are of the profile likelihood; a limit that the
/// data do not set is `None`. Where the likelihood keeps growing towards one common chance, or towards
/// all or nothing, `a` and `b` have no value, `mean` is the geometric chance (or the share at the
/// first trial) and the warning is `Boundary`; without trials it is `NoData`.
///
/// Source: Weinberg & Gladen (1986), Biometrics 42, 547-560; as "shifted beta-geometric" Fader &
/// Hardie (2007), J. Interact. Mark. 21(1), 76-90, equations 5-7 [from memory].
pub fn beta_geometric(events: &[u64], censored: &[u64], level: f64) -> BetaGeometric {
    scattered(events, censored, level, |_, _| [1.0; 4])
}

/// The same where units scatter more than independent ones: by `scatter`, asked where the likelihood has a top, at
/// `(logit mean, ln spread)`, with the fit: how many times the variance of independent units those of the log odds of the
/// mean, `ln a`, `ln b` and `ln (a + b)` are. The fall that the limits allow grows alike.
pub(super) fn scattered(
    events: &[u64],
    censored: &[u64],
    level: f64,
    scatter: impl Fn(&BetaGeometric, (f64, f64)) -> [f64; 4],
) -> BetaGeometric {
    let table = trials(events, censored);
    let (mut fit, inside) = fitted(&table, geometric(events, censored, level), level);
    if let Some(at) = inside {
        let [mean, a, b, sum] = scatter(&fit, at);
        profile_limits(&table, &mut fit, at, [mean, a, b]);
        fit.scatter = sum;
    }
    fit
}

/// The hazards of the same fit alone, much quicker to have: for resamples, of which nobody reads more.
pub fn beta_geometric_quick(events: &[u64], censored: &[u64]) -> Hazards {
    let table = trials(events, censored);
    let common = Common::of(&table);
    match climbed(&table, &common) {
        Climbed::Common => Hazards { centre: common.chance, spread: 0.0 },
        Climbed::AllOrNothing => {
            let first = first_trial(&table);
            Hazards { centre: Common::of(&first).chance, spread: LOG_SPREAD.1.exp() }
        }
        Climbed::Inside(top) => Hazards::at(&top),
    }
}

/// The best fit.
fn fitted(table: &[Trial], common: Geometric, level: f64) -> (BetaGeometric, Option<(f64, f64)>) {
    let of = Common {
        chance: common.chance.value.unwrap_or(0.0),
        log_likelihood: common.log_likelihood,
    };
    match climbed(table, &of) {
        Climbed::Common => (at_edge(common, 0.0, level), None),
        Climbed::AllOrNothing => (all_or_nothing(table, common, level), None),
        Climbed::Inside(top) => {
            let at = (top.at[0], top.at[1]);
            (inside(table, &top, &common, level), Some(at))
        }
    }
}

/// One chance for all trials.
struct Common {
    /// 0 without trials.
    chance: f64,
    log_likelihood: f64,
}

impl Common {
    fn of(table: &[Trial]) -> Common {
        let (chance, log_likelihood) = common_chance(table);
        Common { chance: chance.unwrap_or(0.0), log_likelihood }
    }
}

/// Where the likelihood is largest.
enum Climbed {
    /// At one chance for all.
    Common,
    /// Where units succeed at once or never.
    AllOrNothing,
    /// At a spread.
    Inside(Top<2>),
}

fn climbed(table: &[Trial], common: &Common) -> Climbed {
    let p = common.chance;
    if p <= 0.0 || p >= 1.0 {
        return Climbed::Common;
    }
    let logit = (p / (1.0 - p)).ln();
    let start = best_start(LOG_SPREAD, |w| value(table, logit, w));
    let both = |at: &[f64; 2]| log_likelihood(table, at[0], at[1]);
    let top = ascend_by([logit, start], both, |at| gradient(table, at[0], at[1]));
    let no_gain = NO_GAIN.0 + NO_GAIN.1 * common.log_likelihood.abs();
    if top.value <= common.log_likelihood + no_gain || top.at[1] <= LOG_SPREAD.0 {
        return Climbed::Common;
    }
    if top.at[1] >= LOG_SPREAD.1 { Climbed::AllOrNothing } else { Climbed::Inside(top) }
}

/// Likelihood-ratio test of one common chance against chances that differ, over the scatter of clusters.
///
/// Source: Self & Liang (1987), J. Am. Stat. Assoc. 82, 605-610, case 5: half of chi-square with
/// one degree of freedom, half a point at 0 [case number from memory].
pub fn heterogeneity(common: &Geometric, mixed: &BetaGeometric) -> Heterogeneity {
    let gain = (2.0 * (mixed.log_likelihood - common.log_likelihood)).max(0.0);
    let statistic = gain / mixed.scatter.max(1.0);
    let p = if statistic > 0.0 { 0.5 * chi_square_upper(statistic, 1.0) } else { 1.0 };
    Heterogeneity { statistic, p }
}

/// Log-likelihood and its gradient in `(logit m, ln s)`.
fn log_likelihood(table: &[Trial], logit: f64, log_spread: f64) -> (f64, [f64; 2]) {
    (value(table, logit, log_spread), gradient(table, logit, log_spread))
}

/// The log-likelihood alone.
fn value(table: &[Trial], logit: f64, log_spread: f64) -> f64 {
    let (m, rest, s) = parameters(logit, log_spread);
    let mut value = 0.0;
    for (j, (events, failures)) in counted(table) {
        let (whole, waiting) = (1.0 + s * j, rest + s * j);
        value += events * (m / whole).ln() + failures * (waiting / whole).ln();
    }
    value
}

/// The gradient alone, in `(logit mean, ln spread)`: without a logarithm.
pub(super) fn gradient(table: &[Trial], logit: f64, log_spread: f64) -> [f64; 2] {
    let (m, rest, s) = parameters(logit, log_spread);
    let (mut by_mean, mut by_spread) = (0.0, 0.0);
    for (j, (events, failures)) in counted(table) {
        let (whole, waiting) = (1.0 + s * j, rest + s * j);
        by_mean += events / m - failures / waiting;
        by_spread += j * (failures / waiting - (events + failures) / whole);
    }
    [by_mean * m * rest, by_spread * s]
}

/// Mean chance, the rest of it to 1, and spread.
fn parameters(logit: f64, log_spread: f64) -> (f64, f64, f64) {
    (1.0 / (1.0 + (-logit).exp()), 1.0 / (1.0 + logit.exp()), log_spread.exp())
}

/// Number of trials before, and events and failures, of every trial that somebody made.
fn counted(table: &[Trial]) -> impl Iterator<Item = (f64, (f64, f64))> {
    let made = table.iter().take_while(|trial| trial.at_risk > 0);
    made.enumerate()
        .map(|(j, trial)| (j as f64, (trial.events as f64, (trial.at_risk - trial.events) as f64)))
}

fn inside(table: &[Trial], top: &Top<2>, common: &Geometric, level: f64) -> BetaGeometric {
    let (logit, log_spread) = (top.at[0], top.at[1]);
    let m = 1.0 / (1.0 + (-logit).exp());
    let mut warnings = Vec::new();
    let covariance = inverse_of(&information(&top.at, &|at| gradient(table, at[0], at[1]))).ok();
    if !top.arrived || covariance.is_none() {
        warnings.push(Warning::NotConverged);
    }
    let basis = |method| Basis {
        n: common.chance.n,
        events: common.chance.events,
        level,
        method,
        warnings: warnings.clone(),
    };
    let log_covariance = covariance.as_ref().map(|c| {
        let variance = |x: [f64; 2], y: [f64; 2]| {
            x[0] * (c[0][0] * y[0] + c[0][1] * y[1]) + x[1] * (c[1][0] * y[0] + c[1][1] * y[1])
        };
        let (a, b) = ([1.0 - m, -1.0], [-m, -1.0]);
        [[variance(a, a), variance(a, b)], [variance(b, a), variance(b, b)]]
    });
    let se = |i: usize| log_covariance.map_or(f64::NAN, |c| c[i][i].sqrt());
    let mean_se = covariance.as_ref().map_or(f64::NAN, |c| c[0][0].sqrt());
    BetaGeometric {
        mean: basis("beta-geometric, profile likelihood").on_logit(logit, mean_se),
        a: basis("beta-geometric, profile likelihood").on_log(m.ln() - log_spread, se(0)),
        b: basis("beta-geometric, profile likelihood").on_log((1.0 - m).ln() - log_spread, se(1)),
        log_covariance,
        log_likelihood: top.value,
        scatter: 1.0,
        hazards: Hazards::at(top),
    }
}

/// The fit where all trials share one chance, or where units succeed at once or never (`spread`
/// at the end of its range).
fn at_edge(common: Geometric, spread: f64, level: f64) -> BetaGeometric {
    let mut mean = common.chance;
    if !mean.warnings.contains(&Warning::Boundary) && mean.n > 0.0 {
        mean.warnings.push(Warning::Boundary);
    }
    let nothing = Basis {
        n: mean.n,
        events: mean.events,
        level,
        method: "beta-geometric, profile likelihood",
        warnings: mean.warnings.clone(),
    }
    .nothing();
    BetaGeometric {
        hazards: Hazards { centre: mean.value.unwrap_or(0.0), spread },
        a: nothing.clone(),
        b: nothing,
        mean,
        log_covariance: None,
        log_likelihood: common.log_likelihood,
        scatter: 1.0,
    }
}

/// The first trial, all that decides where units succeed at once or never.
fn first_trial(table: &[Trial]) -> [Trial; 1] {
    [table.first().copied().unwrap_or_default()]
}

fn all_or_nothing(table: &[Trial], common: Geometric, level: f64) -> BetaGeometric {
    let [first] = first_trial(table);
    let (events, failures) = ([first.events], [first.at_risk - first.events]);
    let mut fit = at_edge(geometric(&events, &failures, level), LOG_SPREAD.1.exp(), level);
    fit.mean.n = common.chance.n;
    fit.mean.events = common.chance.events;
    fit
}

/// The parameter that is held while the other is free.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Held {
    LogitMean,
    LogA,
    LogB,
}

impl Held {
    /// `(logit mean, ln spread)` where the held parameter is `held` and the free one `free`: for the
    /// mean the free one is `ln spread`, for `a` it is `ln b` and for `b` it is `ln a`.
    fn place(self, held: f64, free: f64) -> (f64, f64) {
        let of = |log_a: f64, log_b: f64| {
            let (larger, gap) = (log_a.max(log_b), -(log_a - log_b).abs());
            (log_a - log_b, -(larger + gap.exp().ln_1p()))
        };
        match self {
            Held::LogitMean => (held, free),
            Held::LogA => of(held, free),
            Held::LogB => of(free, held),
        }
    }

    /// Slope in the free parameter, from value and slopes in `(logit mean, ln spread)`.
    fn slope(self, logit: f64, by: &[f64]) -> f64 {
        let mean = 1.0 / (1.0 + (-logit).exp());
        match self {
            Held::LogitMean => by[1],
            Held::LogA => -by[0] - (1.0 - mean) * by[1],
            Held::LogB => by[0] - mean * by[1],
        }
    }

    fn back(self, x: f64) -> f64 {
        if self == Held::LogitMean { 1.0 / (1.0 + (-x).exp()) } else { x.exp() }
    }
}

/// Replaces the Wald limits of a fit with a top inside by profile-likelihood limits.
///
/// `top` is the maximum in `(logit mean, ln spread)`. Limits are where twice the fall of the
/// log-likelihood, maximised over the other parameter, is the chi-square quantile on one degree of
/// freedom at the estimate's level, times the `scatter` of mean, `a` and `b`.
///
/// Source: Venzon & Moolgavkar (1988), Appl. Stat. 37, 87-94; Royall & Tsou (2003), J. R. Stat. Soc. B 65, 391-404, for
/// its adjustment to clusters [both from memory].
fn profile_limits(table: &[Trial], fit: &mut BetaGeometric, top: (f64, f64), scatter: [f64; 3]) {
    let (logit, log_spread) = top;
    let log_a = -(-logit).exp().ln_1p() - log_spread;
    let log_b = -logit.exp().ln_1p() - log_spread;
    let best = fit.log_likelihood;
    let usual = normal_quantile(fit.mean.level).powi(2);
    let both = |held, at, free, scatter| limits(table, held, (at, free), best, usual * scatter);
    let mean = both(Held::LogitMean, logit, log_spread, scatter[0]);
    let a = both(Held::LogA, log_a, log_b, scatter[1]);
    let b = both(Held::LogB, log_b, log_a, scatter[2]);
    for (estimate, (low, high)) in [(&mut fit.mean, mean), (&mut fit.a, a), (&mut fit.b, b)] {
        bound(estimate, low, high);
    }
}

fn bound(estimate: &mut Estimate, low: Option<f64>, high: Option<f64>) {
    let value = estimate.value;
    estimate.low = low.zip(value).map(|(low, value)| low.min(value));
    estimate.high = high.zip(value).map(|(high, value)| high.max(value));
    estimate.method = "beta-geometric, profile likelihood";
}

fn limits(
    table: &[Trial],
    held: Held,
    (at, free): (f64, f64),
    best: f64,
    allowed: f64,
) -> (Option<f64>, Option<f64>) {
    let side = |sign: f64| {
        // Twice the fall of the profile, less what is allowed: rising in the distance.
        let rising = |distance: f64| {
            2.0 * (best - profile(table, held, at + sign * distance, free)) - allowed
        };
        (rising(FARTHEST) > 0.0)
            .then(|| held.back(at + sign * root_within(rising, 0.0, FARTHEST, WITHIN)))
            .filter(|limit| limit.is_finite())
    };
    (side(-1.0), side(1.0))
}

/// The likelihood maximised over the free parameter, sought around and beyond `near`.
fn profile(table: &[Trial], held: Held, at: f64, near: f64) -> f64 {
    let slope = |free: &[f64; 1]| {
        let (logit, log_spread) = held.place(at, free[0]);
        [held.slope(logit, &gradient(table, logit, log_spread))]
    };
    let height = |free: f64| {
        let (logit, log_spread) = held.place(at, free);
        value(table, logit, log_spread)
    };
    // The free parameter follows the held one along the ridge; a coarse search finds where.
    let starts = (-24..=24).map(|step| near + f64::from(step));
    let start = starts
        .filter(|free| held.place(at, *free).1 > LOG_SPREAD.0 - 8.0)
        .map(|free| (free, height(free)))
        .filter(|start| start.1.is_finite())
        .max_by(|x, y| x.1.total_cmp(&y.1));
    start.map_or(f64::NEG_INFINITY, |(free, value)| {
        let both = |free: &[f64; 1]| (height(free[0]), slope(free));
        ascend_by([free], both, slope).value.max(value)
    })
}
