//! Equal-tailed intervals of the beta distribution.
//!
//! Promises about eight digits for parameters from 1e-6 to 1e6 and six beyond, both ends in
//! `[0, 1]` and in order. Stops there: distribution functions are in `incomplete`.

use super::incomplete::beta_tails;
use super::input;
use super::quantile::{gamma_lower_quantile, gamma_upper_quantile, normal_quantile};
use super::root::{root, root_from};

/// Parameter above which the continued fraction becomes slow and an expansion is used.
const LARGE: f64 = 1e6;

/// Smaller parameter up to which, together with a large one, a gamma distribution stands for the beta
/// distribution; its relative error is the square of the ratio of the two.
const FEW: f64 = 1e3;

/// Logit beyond which a guess at a limit is none.
const FAR: f64 = 100.0;

/// Limits that leave `(1 - level) / 2` of the beta distribution with parameters `a`, `b` > 0 on
/// either side.
///
/// Source: inversion of the incomplete beta function; beyond 1e6 Wise (1950), Biometrika 37,
/// 208-218 (gamma) or Cornish & Fisher (1938) on the logit scale [from memory].
pub fn beta_interval(a: f64, b: f64, level: f64) -> (f64, f64) {
    let (low, high) = (beta_low(a, b, level), beta_high(a, b, level));
    (low.min(high), high)
}

/// The lower end of [`beta_interval`].
pub fn beta_low(a: f64, b: f64, level: f64) -> f64 {
    let tail = input::tail(level);
    if a.max(b) <= LARGE {
        return expit(lower_logit(a, b, tail));
    }
    if b <= FEW {
        return (-few_failures(a, b, tail).1).exp();
    }
    if a <= FEW {
        return -(-few_failures(b, a, tail).0).exp_m1();
    }
    expit(logit_at(a, b, -normal_quantile(level)))
}

/// The upper end of [`beta_interval`].
pub fn beta_high(a: f64, b: f64, level: f64) -> f64 {
    let tail = input::tail(level);
    if a.max(b) <= LARGE {
        // As the logit of what is left, so that a limit near 0 keeps its digits on either side.
        return expit(-lower_logit(b, a, tail));
    }
    if b <= FEW {
        return (-few_failures(a, b, tail).0).exp();
    }
    if a <= FEW {
        return -(-few_failures(b, a, tail).1).exp_m1();
    }
    expit(logit_at(a, b, normal_quantile(level)))
}

fn expit(logit: f64) -> f64 {
    1.0 / (1.0 + (-logit).exp())
}

/// Logit of the value with `tail` below it.
fn lower_logit(a: f64, b: f64, tail: f64) -> f64 {
    let gap = |logit: f64| {
        beta_tails(a, b, expit(logit), expit(-logit)).0.max(1e-300).ln() - tail.max(1e-299).ln()
    };
    // Two standard deviations below the centre, roughly; where there is no saying, anywhere.
    let scatter = (1.0 / a + 1.0 / b).sqrt();
    let guess = (a / b).ln() - 2.0 * scatter;
    match guess.abs() < FAR {
        true => root_from(gap, guess, scatter),
        false => root(gap, -690.0, 690.0),
    }
}

/// Limits of `-ln X` for X beta with many successes `a` and few failures `b`.
fn few_failures(a: f64, b: f64, tail: f64) -> (f64, f64) {
    let rate = a + (b - 1.0) / 2.0;
    (gamma_lower_quantile(b, tail) / rate, gamma_upper_quantile(b, tail) / rate)
}

/// Quantile of the logit of a beta variable, the difference of two log-gamma variables, from its
/// first four cumulants.
fn logit_at(a: f64, b: f64, z: f64) -> f64 {
    let centre = (a / b).ln() - 0.5 / a + 0.5 / b;
    let sd = (1.0 / a + 0.5 / (a * a) + 1.0 / b + 0.5 / (b * b)).sqrt();
    let skew = (1.0 / (b * b) - 1.0 / (a * a)) / sd.powi(3);
    let kurtosis = 2.0 * (a.powi(-3) + b.powi(-3)) / sd.powi(4);
    let bend = skew * (z * z - 1.0) / 6.0 + kurtosis * (z.powi(3) - 3.0 * z) / 24.0
        - skew * skew * (2.0 * z.powi(3) - 5.0 * z) / 36.0;
    centre + sd * (z + bend)
}
