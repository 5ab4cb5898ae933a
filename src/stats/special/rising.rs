//! Logarithm of the rising factorial `a (a+1) ... (a+k-1)`, and its slope in `a`.
//!
//! What compound distributions are made of. Differences of log-gammas lose their digits where `a`
//! is large; these do not: relative error about 1e-14 for `a` from 1e-12 to 1e15, whole `k`, and about 1e-12 for
//! others, which effective counts are.

/// Longest product that is summed term by term; beyond it the series are as exact and faster.
const DIRECT: u64 = 48;

/// Whole numbers below this are exact in a double.
const WHOLE: f64 = 9e15;

/// Argument from which the asymptotic series below are exact to a double.
const FAR: f64 = 24.0;

/// `ln Gamma(a + k) - ln Gamma(a)`, `a > 0`.
///
/// Source: Abramowitz & Stegun (1964), 6.1.15 (recurrence) and 6.1.41 (series).
pub fn log_rising(a: f64, k: u64) -> f64 {
    let near = near_terms(a, k);
    let head: f64 = (0..near).map(|i| (a + i as f64).ln()).sum();
    let (x, rest) = (a + near as f64, (k - near) as f64);
    if rest == 0.0 {
        return head;
    }
    let y = x + rest;
    let body = (x - 0.5) * (rest / x).ln_1p() + rest * (y.ln() - 1.0);
    head + body + stirling(y) - stirling(x)
}

/// `psi(a + k) - psi(a)`, the slope of [`log_rising`] in `a`.
///
/// Source: Abramowitz & Stegun (1964), 6.3.5 (recurrence) and 6.3.18 (series).
pub fn log_rising_slope(a: f64, k: u64) -> f64 {
    let near = near_terms(a, k);
    let head: f64 = (0..near).map(|i| 1.0 / (a + i as f64)).sum();
    let (x, rest) = (a + near as f64, (k - near) as f64);
    if rest == 0.0 {
        return head;
    }
    let y = x + rest;
    head + (rest / x).ln_1p() + digamma_tail(x) - digamma_tail(y)
}

/// As [`log_rising`], for a `k` of 0 or more that need not be whole.
pub fn log_rising_real(a: f64, k: f64) -> f64 {
    if k.fract() == 0.0 && k < WHOLE {
        return log_rising(a, k as u64);
    }
    let near = (FAR - a).max(0.0).ceil();
    let head: f64 = (0..near as u64).map(|i| (k / (a + i as f64)).ln_1p()).sum();
    let x = a + near;
    let y = x + k;
    let body = (x - 0.5) * (k / x).ln_1p() + k * (y.ln() - 1.0);
    body + stirling(y) - stirling(x) - head
}

/// As [`log_rising_slope`], for a `k` of 0 or more that need not be whole.
pub fn log_rising_slope_real(a: f64, k: f64) -> f64 {
    if k.fract() == 0.0 && k < WHOLE {
        return log_rising_slope(a, k as u64);
    }
    let near = (FAR - a).max(0.0).ceil();
    let head: f64 =
        (0..near as u64).map(|i| a + i as f64).map(|from| k / (from * (from + k))).sum();
    let x = a + near;
    head + (k / x).ln_1p() + digamma_tail(x) - digamma_tail(x + k)
}

/// Leading terms to take one by one: all of a short product, else as many as reach `FAR`.
fn near_terms(a: f64, k: u64) -> u64 {
    if k <= DIRECT { k } else { (FAR - a).max(0.0).ceil() as u64 }
}

/// `ln Gamma(x) - ((x - 1/2) ln x - x + ln sqrt(2 pi))`.
fn stirling(x: f64) -> f64 {
    let s = 1.0 / (x * x);
    (1.0 / 12.0 - s * (1.0 / 360.0 - s * (1.0 / 1260.0 - s * (1.0 / 1680.0 - s / 1188.0)))) / x
}

/// `ln x - psi(x)`.
fn digamma_tail(x: f64) -> f64 {
    let s = 1.0 / (x * x);
    0.5 / x
        + s * (1.0 / 12.0 - s * (1.0 / 120.0 - s * (1.0 / 252.0 - s * (1.0 / 240.0 - s / 132.0))))
}
