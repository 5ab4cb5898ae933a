//! Profile-likelihood limits of the beta-geometric distribution.
//!
//! The likelihood of `a` and `b` is a long ridge: Wald limits lie a hundred powers of ten apart, or
//! too close. Promises limits that hold the maximum; a limit that the likelihood never reaches
//! is `None`, since the data do not bound that side. Stops at one parameter at a time.

use super::beta_geometric::{BetaGeometric, LOG_SPREAD, log_likelihood};
use super::geometric::Trial;
use crate::stats::estimate::Estimate;
use crate::stats::special::ascent::ascend;
use crate::stats::special::quantile::normal_quantile;
use crate::stats::special::root::root_within;

/// How far from the maximum a limit is sought, on the log or logit scale.
const FARTHEST: f64 = 20.0;

/// Digits of a limit, on that scale.
const WITHIN: f64 = 1e-7;

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
/// freedom at the estimate's level.
///
/// Source: Venzon & Moolgavkar (1988), Appl. Stat. 37, 87-94 [from memory].
pub(super) fn profile_limits(table: &[Trial], fit: &mut BetaGeometric, top: (f64, f64)) {
    let (logit, log_spread) = top;
    let log_a = -(-logit).exp().ln_1p() - log_spread;
    let log_b = -logit.exp().ln_1p() - log_spread;
    let best = fit.log_likelihood;
    let both = |held, at, free| limits(table, held, (at, free), best, fit.mean.level);
    let mean = both(Held::LogitMean, logit, log_spread);
    let (a, b) = (both(Held::LogA, log_a, log_b), both(Held::LogB, log_b, log_a));
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
    level: f64,
) -> (Option<f64>, Option<f64>) {
    let allowed = normal_quantile(level).powi(2);
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
    let f = |free: &[f64]| {
        let (logit, log_spread) = held.place(at, free[0]);
        let (value, by) = log_likelihood(table, logit, log_spread);
        (value, vec![held.slope(logit, &by)])
    };
    // The free parameter follows the held one along the ridge; a coarse search finds where.
    let starts = (-24..=24).map(|step| near + f64::from(step));
    let start = starts
        .filter(|free| held.place(at, *free).1 > LOG_SPREAD.0 - 8.0)
        .map(|free| (free, f(&[free]).0))
        .filter(|start| start.1.is_finite())
        .max_by(|x, y| x.1.total_cmp(&y.1));
    start.map_or(f64::NEG_INFINITY, |(free, value)| ascend(&[free], f).value.max(value))
}
