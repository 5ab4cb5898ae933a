//! Funnel plot of shares: how far from the common share chance alone takes a unit of a given size.
//!
//! Promises limits in `[0, 1]` that are never narrower than the binomial ones. Stops at
//! multiplicative over-dispersion; the additive (random-effects) form is not offered.

use crate::stats::special::input;
use crate::stats::special::quantile::upper_normal_quantile;

/// Share of units at either end whose distance is replaced by that of the next unit inward, so
/// that the outliers to be found do not widen the limits that are to find them.
const WINSORISED: f64 = 0.1;

/// Limits at one size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FunnelLimits {
    /// Effective sample size that the limits are for.
    pub n: f64,
    /// Lower limit of a share, in [0, 1].
    pub low: f64,
    /// Upper limit of a share, in [0, 1].
    pub high: f64,
}

/// A funnel around the common share.
#[derive(Clone, Debug, PartialEq)]
pub struct Funnel {
    /// The common share: all events over all trials.
    pub centre: f64,
    /// Over-dispersion: mean of the squared winsorised distances over what winsorising leaves of
    /// that of normal distances, not below 1.
    pub phi: f64,
    /// Distance of each unit from the centre in binomial standard deviations, in the order given;
    /// `None` without trials.
    pub z: Vec<Option<f64>>,
}

impl Funnel {
    /// Limits that a unit of effective size `n` leaves by chance with probability `1 - level`.
    pub fn limits(&self, n: f64, level: f64) -> FunnelLimits {
        let n = input::amount(n);
        let spread = (self.phi * self.centre * (1.0 - self.centre) / n).sqrt();
        let reach = upper_normal_quantile(input::tail(level)) * spread;
        let reach = if n > 0.0 { reach } else { 1.0 };
        FunnelLimits {
            n,
            low: (self.centre - reach).max(0.0),
            high: (self.centre + reach).min(1.0),
        }
    }

    /// Distance of a unit in standard deviations that include the over-dispersion.
    pub fn adjusted(&self, unit: usize) -> Option<f64> {
        self.z.get(unit).copied().flatten().map(|z| z / self.phi.sqrt())
    }
}

/// Funnel of units, each `(events, n)` in effective sizes (counts divided by a design effect).
///
/// `None` without any trials. The over-dispersion is used wherever it is above 1, without a test
/// first; with fewer than ten units no distance is winsorised. The published phi is too small by
/// what winsorising takes off (a third, where a tenth is winsorised at either end), so that half
/// again as many units fall outside as should; here it is made consistent for normal distances.
///
/// Source: Spiegelhalter (2005), Stat. Med. 24, 1185-1202, appendix A.3 (normal approximation,
/// multiplicative phi, winsorised z); consistency at the normal distribution: Huber (1981), Robust
/// Statistics, section 5.1 [sections from memory].
pub fn funnel(units: &[(f64, f64)]) -> Option<Funnel> {
    let units: Vec<(f64, f64)> = units
        .iter()
        .map(|(events, n)| (input::amount(*events).min(input::amount(*n)), input::amount(*n)))
        .collect();
    let total = units.iter().fold((0.0, 0.0), |t, u| (t.0 + u.0, t.1 + u.1));
    let centre = input::finite(total.0 / total.1)?;
    let free = centre * (1.0 - centre);
    // Where a share is so small that its spread vanishes, there is no distance to tell.
    let far = |events: f64, n: f64| input::finite((events / n - centre) / (free / n).sqrt());
    let distance = |(events, n): &(f64, f64)| (*n > 0.0).then(|| far(*events, *n).unwrap_or(0.0));
    let z: Vec<Option<f64>> = units.iter().map(distance).collect();
    let phi = winsorised_mean_square(z.iter().copied().flatten().collect());
    Some(Funnel { centre, phi: phi.clamp(1.0, f64::MAX), z })
}

fn winsorised_mean_square(mut z: Vec<f64>) -> f64 {
    z.sort_by(f64::total_cmp);
    let cut = (WINSORISED * z.len() as f64).floor() as usize;
    let (Some(low), Some(high)) = (z.get(cut), z.get(z.len().saturating_sub(cut + 1))) else {
        return 1.0;
    };
    let (low, high) = (*low, *high);
    let square = z.iter().map(|z| z.clamp(low, high).powi(2)).sum::<f64>() / z.len() as f64;
    square / winsorised_normal(cut as f64 / z.len() as f64)
}

/// Mean square of a standard normal distance whose `tail` at either end is pulled in to the
/// quantile c there: `2 tail c^2 + (1 - 2 tail) - 2 c density(c)`.
fn winsorised_normal(tail: f64) -> f64 {
    if tail <= 0.0 {
        return 1.0;
    }
    let c = upper_normal_quantile(tail);
    let density = (-0.5 * c * c).exp() / (2.0 * std::f64::consts::PI).sqrt();
    2.0 * tail * c * c + (1.0 - 2.0 * tail) - 2.0 * c * density
}
