//! Quantiles and tail probabilities that the intervals of `stats` are made of.
//!
//! Promises eight digits or more for shapes from 0 to 1e12 and tails down to 1e-12. Every gamma
//! quantile goes through here: the general-purpose library's own search stops at absolute, not
//! relative, differences, and so fails for small limits.

use super::incomplete::gamma_tails;
use super::input;
use super::root::root_from;
use statrs::function::erf::erfc_inv;
use std::cell::Cell;
use std::f64::consts::SQRT_2;

/// Shape above which the expansion is used: its next term is then under 1e-16 of the quantile.
const LARGE_SHAPE: f64 = 1e4;

/// Two-sided normal quantile at `level`: 1.96 at 0.95. A review asks it of one level, so the last is remembered.
pub fn normal_quantile(level: f64) -> f64 {
    thread_local!(static LAST: Cell<(u64, f64)> = const { Cell::new((u64::MAX, f64::NAN)) });
    let (asked, quantile) = LAST.get();
    if asked == level.to_bits() {
        return quantile;
    }
    let quantile = upper_normal_quantile(input::tail(level));
    LAST.set((level.to_bits(), quantile));
    quantile
}

/// The `z` that leaves `tail` in (0, 1) above it.
pub fn upper_normal_quantile(tail: f64) -> f64 {
    SQRT_2 * erfc_inv(2.0 * tail.clamp(1e-300, 1.0 - 1e-16))
}

/// Probability that a standard normal deviate lies above `z`.
///
/// From the incomplete gamma function, because the general-purpose library's complementary error function
/// is out by 5e-11 of its value.
pub fn normal_upper(z: f64) -> f64 {
    let beyond = 0.5 * normal_two_sided(z);
    if z < 0.0 { 1.0 - beyond } else { beyond }
}

/// Probability that a standard normal deviate lies farther from 0 than `z`.
pub fn normal_two_sided(z: f64) -> f64 {
    // Beyond 40 the tail is smaller than any double, and z * z may overflow.
    let z = z.abs().min(40.0);
    gamma_tails(0.5, 0.5 * z * z).1
}

/// Upper tail of the chi-square distribution with `df` degrees of freedom at `x`: nothing beyond infinity,
/// and all of it where there is nothing to compare, that is without degrees of freedom or where `x` is no
/// number.
pub fn chi_square_upper(x: f64, df: f64) -> f64 {
    if df <= 0.0 {
        return 1.0;
    }
    if x == f64::INFINITY {
        return 0.0;
    }
    gamma_tails(df / 2.0, input::amount(x) / 2.0).1
}

/// Value of the gamma distribution (scale 1) with `tail` below it; 0 for shape 0.
pub fn gamma_lower_quantile(shape: f64, tail: f64) -> f64 {
    if shape >= LARGE_SHAPE {
        return expanded_gamma_quantile(shape, -upper_normal_quantile(tail));
    }
    rising_to(tail, shape, |x| gamma_tails(shape, x).0)
}

/// Value of the gamma distribution (scale 1) with `tail` above it; 0 for shape 0.
pub fn gamma_upper_quantile(shape: f64, tail: f64) -> f64 {
    if shape >= LARGE_SHAPE {
        return expanded_gamma_quantile(shape, upper_normal_quantile(tail));
    }
    falling_to(tail, shape, |x| gamma_tails(shape, x).1)
}

/// Where the rising probability `f` reaches `tail`, searched on log scales from `near`.
fn rising_to(tail: f64, near: f64, f: impl Fn(f64) -> f64) -> f64 {
    if near <= 0.0 {
        return 0.0;
    }
    let target = log_tail(tail);
    root_from(|log_x| log_tail(f(log_x.exp())) - target, near.ln(), 1.0 / near.sqrt()).exp()
}

/// Where the falling probability `f` reaches `tail`, searched on log scales from `near`.
fn falling_to(tail: f64, near: f64, f: impl Fn(f64) -> f64) -> f64 {
    if near <= 0.0 {
        return 0.0;
    }
    let target = log_tail(tail);
    root_from(|log_x| target - log_tail(f(log_x.exp())), near.ln(), 1.0 / near.sqrt()).exp()
}

/// Log of a tail. The logs make the search nearly linear and keep the digits of small tails.
fn log_tail(p: f64) -> f64 {
    p.max(1e-300).ln()
}

/// Cornish-Fisher expansion of the gamma quantile at the normal deviate `z`.
///
/// Source: Goldberg & Levine (1946), Ann. Math. Stat. 17, 216-225, as given for chi-square by
/// Johnson, Kotz & Balakrishnan (1994), Continuous Univariate Distributions 1, section 18.5
/// [from memory; checked against the incomplete gamma function in the tests].
fn expanded_gamma_quantile(shape: f64, z: f64) -> f64 {
    let v = 2.0 * shape;
    let root = v.sqrt();
    let z2 = z * z;
    let chi_square =
        v + root * SQRT_2 * z + 2.0 / 3.0 * (z2 - 1.0) + z * (z2 - 7.0) / (9.0 * SQRT_2 * root)
            - ((6.0 * z2 + 14.0) * z2 - 32.0) / (405.0 * v)
            + z * ((9.0 * z2 + 256.0) * z2 - 433.0) / (4860.0 * SQRT_2 * v * root);
    chi_square / 2.0
}
