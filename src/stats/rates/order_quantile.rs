//! A quantile of values, with the interval between two of them.
//!
//! Promises to need no shape of their distribution. Stops at values that are all known: none that is
//! only known to be larger.

use crate::stats::estimate::{Estimate, Warning};
use crate::stats::special::incomplete::beta_tails;
use crate::stats::special::input;
use crate::stats::special::quantile::upper_normal_quantile;
use crate::stats::wald::Basis;

const METHOD: &str = "order statistics";

/// Values above which ranks come from the normal approximation, a rank wider at either end.
const MANY: u64 = 100_000;

/// The quantile below which `share` (in (0, 1)) of the values lie, from values with their numbers of
/// times in any order. Where the share falls between two values: their mean.
///
/// The interval is between two of the values, such that either side is left out with at most half
/// of `1 - level`, whatever the distribution. Where no value is extreme enough, that limit is missing,
/// with `OneSided`. Values that are not finite are left out.
///
/// Source: Conover (1999), Practical Nonparametric Statistics, 3rd ed., section 3.2; David & Nagaraja
/// (2003), Order Statistics, 3rd ed., section 7.1 [sections from memory].
pub fn order_quantile(values: &[(f64, u64)], share: f64, level: f64) -> Estimate {
    let mut sorted: Vec<(f64, u64)> =
        values.iter().copied().filter(|(value, times)| value.is_finite() && *times > 0).collect();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let n = sorted.iter().fold(0_u64, |n, (_, times)| n.saturating_add(*times));
    let mut basis = Basis { n: n as f64, events: n, level, method: METHOD, warnings: Vec::new() };
    if n == 0 {
        basis.warnings.push(Warning::NoData);
        return basis.nothing();
    }
    let share = if share.is_nan() { 0.5 } else { share.clamp(1e-9, 1.0 - 1e-9) };
    // The value of a rank, from 1.
    let at = |rank: u64| {
        let mut below = 0_u64;
        let found = sorted.iter().find(|(_, times)| {
            below = below.saturating_add(*times);
            rank <= below
        });
        found.or(sorted.last()).map(|(value, _)| *value)
    };
    let place = share * n as f64;
    let rank = (place.ceil() as u64).clamp(1, n);
    let next = if place.fract() == 0.0 { (rank + 1).min(n) } else { rank };
    let value = at(rank).zip(at(next)).map(|(a, b)| 0.5 * a + 0.5 * b);
    let tail = input::tail(level);
    // P(fewer than r values below the quantile) <= tail; P(at least s of them) <= tail.
    let low = lower_rank(n, share, tail);
    let high = n + 1 - lower_rank(n, 1.0 - share, tail);
    let low = (low > 0).then(|| at(low)).flatten();
    let high = (high <= n).then(|| at(high)).flatten();
    if low.is_none() || high.is_none() {
        basis.warnings.push(Warning::OneSided);
    }
    let low = low.zip(value).map(|(low, value)| low.min(value));
    let high = high.zip(value).map(|(high, value)| high.max(value));
    basis.limits(value, low, high)
}

/// The largest rank `r` such that fewer than `r` of `n` values fall below the quantile with at most
/// `tail`; 0 where there is none.
fn lower_rank(n: u64, share: f64, tail: f64) -> u64 {
    let size = n as f64;
    if n > MANY {
        let reach = upper_normal_quantile(tail) * (size * share * (1.0 - share)).sqrt();
        return ((size * share - reach).floor() - 1.0).max(0.0) as u64;
    }
    // P(B <= r - 1) with B binomial; rises with r.
    let fewer = |rank: u64| {
        let r = rank as f64;
        if rank > n { 1.0 } else { beta_tails(size - r + 1.0, r, 1.0 - share, share).0 }
    };
    let (mut least, mut most) = (0, n + 1);
    while most - least > 1 {
        let middle = least + (most - least) / 2;
        if fewer(middle) <= tail { least = middle } else { most = middle }
    }
    least
}
