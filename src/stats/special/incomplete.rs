//! Incomplete gamma and beta functions, and the Poisson and binomial points they are built on.
//!
//! Promises both tails, each accurate in itself (a tail of 1e-200 has its digits), for parameters
//! from 0 to 1e12. The general-purpose library subtracts log-gammas, which at counts of 1e12 leaves
//! two digits; here the points come from deviances instead. Stops at distribution functions:
//! `quantile` turns them round.

use statrs::function::gamma::ln_gamma;
use std::f64::consts::PI;

/// Most terms of a series or continued fraction. Both need some ten times the root of the
/// parameter, and callers switch to expansions above 1e6.
const MOST_TERMS: u32 = 200_000;

/// Error of Stirling's formula: `ln n! - (ln sqrt(2 pi n) + n ln n - n)`, `n > 0`.
///
/// Source: Loader (2000), Fast and accurate computation of binomial probabilities, section 2.
fn stirling_error(n: f64) -> f64 {
    if n < 16.0 {
        return ln_gamma(n + 1.0) - (n + 0.5) * n.ln() + n - 0.5 * (2.0 * PI).ln();
    }
    let s = 1.0 / (n * n);
    (1.0 / 12.0 - s * (1.0 / 360.0 - s * (1.0 / 1260.0 - s * (1.0 / 1680.0 - s / 1188.0)))) / n
}

/// Half the deviance of `x` about `mean`: `x ln(x / mean) + mean - x`, without cancellation.
///
/// Source: Loader (2000), section 3.
pub fn half_deviance(x: f64, mean: f64) -> f64 {
    let gap = x - mean;
    if x <= 0.0 {
        return mean;
    }
    if gap.abs() >= 0.1 * (x + mean) {
        return x * (x / mean).ln() - gap;
    }
    let v = gap / (x + mean);
    let mut sum = gap * v;
    let mut term = 2.0 * x * v;
    for j in 1..1000 {
        term *= v * v;
        let next = sum + term / f64::from(2 * j + 1);
        if next == sum {
            break;
        }
        sum = next;
    }
    sum
}

/// Poisson probability `mean^x e^-mean / x!`, `x >= 0` real.
///
/// Source: Loader (2000), section 4.
pub(super) fn poisson_point(x: f64, mean: f64) -> f64 {
    if x <= 0.0 {
        return (-mean).exp();
    }
    (-stirling_error(x) - half_deviance(x, mean)).exp() / (2.0 * PI * x).sqrt()
}

/// Binomial probability of `k` and `m` (both real, >= 0) with chances `x` and `y = 1 - x`.
///
/// Source: Loader (2000), section 2.
pub fn binomial_point(k: f64, m: f64, x: f64, y: f64) -> f64 {
    let n = k + m;
    if k <= 0.0 {
        return (n * if x < 0.5 { (-x).ln_1p() } else { y.ln() }).exp();
    }
    if m <= 0.0 {
        return (n * if y < 0.5 { (-y).ln_1p() } else { x.ln() }).exp();
    }
    let log = stirling_error(n)
        - stirling_error(k)
        - stirling_error(m)
        - half_deviance(k, n * x)
        - half_deviance(m, n * y);
    log.exp() * (n / (2.0 * PI * k * m)).sqrt()
}

/// Lower and upper tail of the gamma distribution with `shape` and scale 1 at `x`.
///
/// Source: series and continued fraction of Abramowitz & Stegun (1964), 6.5.29 and 6.5.31, the
/// fraction by the modified Lentz method.
pub fn gamma_tails(shape: f64, x: f64) -> (f64, f64) {
    if x <= 0.0 || shape <= 0.0 {
        return if x <= 0.0 { (0.0, 1.0) } else { (1.0, 0.0) };
    }
    let point = poisson_point(shape, x);
    if x < shape + 1.0 {
        let lower = (point * gamma_series(shape, x)).min(1.0);
        (lower, 1.0 - lower)
    } else {
        let upper = (point * shape * gamma_fraction(shape, x)).min(1.0);
        (1.0 - upper, upper)
    }
}

fn gamma_series(shape: f64, x: f64) -> f64 {
    let (mut sum, mut term) = (1.0, 1.0);
    for n in 1..MOST_TERMS {
        term *= x / (shape + f64::from(n));
        sum += term;
        if term < sum * f64::EPSILON {
            break;
        }
    }
    sum
}

fn gamma_fraction(shape: f64, x: f64) -> f64 {
    let mut b = x + 1.0 - shape;
    let mut c = 1e300;
    let mut d = 1.0 / b;
    let mut h = d;
    for i in 1..MOST_TERMS {
        let i = f64::from(i);
        let a = -i * (i - shape);
        b += 2.0;
        d = 1.0 / away_from_zero(a * d + b);
        c = away_from_zero(b + a / c);
        h *= d * c;
        if (d * c - 1.0).abs() < f64::EPSILON {
            break;
        }
    }
    h
}

/// Lower and upper tail of the beta distribution with parameters `a`, `b` at `x`, `y = 1 - x`.
///
/// Source: continued fraction of Abramowitz & Stegun (1964), 26.5.8, by the modified Lentz method.
pub fn beta_tails(a: f64, b: f64, x: f64, y: f64) -> (f64, f64) {
    if x <= 0.0 {
        return (0.0, 1.0);
    }
    if y <= 0.0 {
        return (1.0, 0.0);
    }
    let front = a * b / (a + b) * binomial_point(a, b, x, y);
    if x <= (a + 1.0) / (a + b + 2.0) {
        let lower = (front * beta_fraction(a, b, x) / a).min(1.0);
        (lower, 1.0 - lower)
    } else {
        let upper = (front * beta_fraction(b, a, y) / b).min(1.0);
        (1.0 - upper, upper)
    }
}

fn beta_fraction(a: f64, b: f64, x: f64) -> f64 {
    let mut c = 1.0;
    let mut d = 1.0 / away_from_zero(1.0 - (a + b) * x / (a + 1.0));
    let mut h = d;
    for m in 1..MOST_TERMS {
        let m = f64::from(m);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / away_from_zero(1.0 + even * d);
        c = away_from_zero(1.0 + even / c);
        h *= d * c;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / away_from_zero(1.0 + odd * d);
        c = away_from_zero(1.0 + odd / c);
        h *= d * c;
        if (d * c - 1.0).abs() < f64::EPSILON {
            break;
        }
    }
    h
}

fn away_from_zero(x: f64) -> f64 {
    if x.abs() < 1e-300 { 1e-300 } else { x }
}
