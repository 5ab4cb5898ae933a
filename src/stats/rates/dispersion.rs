//! Whether events of units scatter more than chance at the rate of their stratum.
//!
//! Promises the ratio as it is, also below 1: the caller decides from where it is used. Stops at
//! Pearson's statistic, which is wanting where less than about one event a unit is expected.

use crate::stats::special::input;
use crate::stats::special::quantile::chi_square_upper;

/// Events and exposure of one unit.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Exposed {
    /// Events.
    pub events: u64,
    /// Exposure, at least 0; a unit without exposure is left out, its events too.
    pub exposure: f64,
}

/// Scatter of units about the rates of their strata.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dispersion {
    /// Chi-square over its degrees of freedom: 1 for Poisson scatter. `None` without degrees of
    /// freedom.
    pub phi: Option<f64>,
    /// Pearson's chi-square.
    pub chi_square: f64,
    /// Units less strata, over the strata with events.
    pub df: u64,
    /// Upper tail of chi-square: small where the scatter is more than chance.
    pub p: f64,
}

/// Pearson's chi-square of units within strata, over its degrees of freedom.
///
/// Each stratum's rate is its events over its exposure. A stratum without events tells nothing and
/// gives no degrees of freedom.
///
/// Source: McCullagh & Nelder (1989), Generalized Linear Models, 2nd ed., sections 2.3 and 6.2 (the
/// saturated-by-stratum Poisson model) [sections from memory].
pub fn dispersion(strata: &[Vec<Exposed>]) -> Dispersion {
    let (mut chi_square, mut df) = (0.0, 0);
    for stratum in strata {
        let units: Vec<(f64, f64)> = stratum
            .iter()
            .map(|unit| (unit.events as f64, input::amount(unit.exposure)))
            .filter(|unit| unit.1 > 0.0)
            .collect();
        let total = units.iter().fold((0.0, 0.0), |t, u| (t.0 + u.0, t.1 + u.1));
        if total.0 == 0.0 {
            continue;
        }
        df += units.len() as u64 - 1;
        for (events, exposure) in &units {
            let expected = total.0 * (exposure / total.1);
            if expected > 0.0 {
                chi_square += (events - expected).powi(2) / expected;
            }
        }
    }
    Dispersion {
        phi: input::finite(chi_square / df as f64),
        chi_square,
        df,
        p: chi_square_upper(chi_square, df as f64),
    }
}
