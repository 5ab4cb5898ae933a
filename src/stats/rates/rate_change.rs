//! How far a rate changed between two spans of time, where events scatter more than Poisson counts.
//!
//! Promises a p value that agrees with the interval, also where one side has no events. Stops at two
//! rates; strata are in `mantel_haenszel`.

use super::conditional::mid_p_tails;
use super::rate::{RateRatio, rate_ratio_scaled};
use crate::stats::estimate::Warning;
use crate::stats::shares::clustered::t_over_normal;
use crate::stats::shares::share_change::LEAST_P;
use crate::stats::special::input;
use crate::stats::special::root::root;

/// Events and exposure of one unit.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Exposed {
    /// Events of the unit.
    pub events: u64,
    /// Exposure, at least 0; a unit without exposure is left out, its events too.
    pub exposure: f64,
}

/// How counts of units scatter about the rates of their strata. Adding two gives that of both.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct CountScatter {
    /// Sum of squared gaps between counts and what the strata expect of them.
    squares: f64,
    /// What that sum would be of Poisson counts.
    expected: f64,
    /// Units less strata, over strata with events.
    df: f64,
    /// Effective number of units by events, less one a side.
    effective: f64,
    /// Units with exposure.
    pub units: u64,
}

impl CountScatter {
    /// Of units in strata, each stratum with a rate of its own. Units without exposure are left out.
    ///
    /// Squares are summed over all strata before they are divided: the variance of the total is
    /// asked for, in which a stratum counts by its events. (Pearson's statistic divides unit by unit,
    /// so that strata with few events lower it where scatter grows with the rate.)
    ///
    /// Source: McCullagh & Nelder (1989), Generalized Linear Models, 2nd ed., section 6.2.3, for the
    /// model; the moment estimate is the ratio estimator of Rao & Scott (1992), Biometrics 48,
    /// 577-585, on counts.
    pub fn of(strata: &[Vec<Exposed>]) -> CountScatter {
        let mut sum = CountScatter::default();
        let (mut all, mut all_squares) = (0.0, 0.0);
        for stratum in strata {
            let units: Vec<(f64, f64)> = stratum
                .iter()
                .map(|unit| (unit.events as f64, input::amount(unit.exposure)))
                .filter(|unit| unit.1 > 0.0)
                .collect();
            let events: f64 = units.iter().map(|unit| unit.0).sum();
            let exposure: f64 = units.iter().map(|unit| unit.1).sum();
            sum.units += units.len() as u64;
            if events <= 0.0 {
                continue;
            }
            for (seen, time) in &units {
                let share = time / exposure;
                sum.squares += (seen - events * share).powi(2);
                sum.expected += events * share * (1.0 - share);
                all_squares += seen * seen;
            }
            all += events;
            sum.df += units.len() as f64 - 1.0;
        }
        if all_squares > 0.0 {
            sum.effective = all * all / all_squares - 1.0;
        }
        sum
    }

    /// The scatter of both.
    #[must_use]
    pub fn with(self, other: CountScatter) -> CountScatter {
        CountScatter {
            squares: self.squares + other.squares,
            expected: self.expected + other.expected,
            df: self.df + other.df,
            effective: self.effective + other.effective,
            units: self.units + other.units,
        }
    }

    /// Variance over that of Poisson counts, also below 1; none without two units in a stratum with
    /// events.
    pub fn phi(&self) -> Option<f64> {
        input::finite(self.squares / self.expected).filter(|_| self.expected > 0.0)
    }

    /// Degrees of freedom of the scatter: units less strata, or the effective number of units by events
    /// less one a side where that is less; at least 1.
    pub fn degrees(&self) -> f64 {
        self.df.min(self.effective).max(1.0)
    }

    /// What events and exposure are divided by at `level`: widened for its degrees of freedom, then never
    /// below 1.
    fn divisor(&self, level: f64) -> f64 {
        let widened = |phi: f64| phi * t_over_normal(level, self.degrees()).powi(2);
        input::finite(self.phi().map_or(1.0, widened)).map_or(1.0, |by| by.max(1.0))
    }
}

/// Ratio of the rate `d1 / t1` to `d0 / t0`: exact conditional mid-P interval on events over the
/// scatter of both, and the p value at which that interval would end at 1.
///
/// No events on the first side: value 0 and the upper limit; none on the second: no value, and the lower
/// limit. No events at all, or no exposure on a side: nothing but `NoData`, p 1.
///
/// Source: Rothman & Greenland (1998), Modern Epidemiology, 2nd ed., chapter 14, for the interval;
/// dividing both events and exposure is quasi-likelihood as McCullagh & Nelder (1989), section 9.2
/// [section from memory].
pub fn rate_change(
    (d1, t1): (u64, f64),
    (d0, t0): (u64, f64),
    scatter: &CountScatter,
    level: f64,
) -> RateRatio {
    let RateRatio { mut ratio, .. } =
        rate_ratio_scaled(d1, t1, d0, t0, scatter.divisor(level), level);
    ratio.method = "exact conditional mid-P over scatter";
    if ratio.warnings.contains(&Warning::NoData) {
        return RateRatio { ratio, p: 1.0 };
    }
    // That one side has no events is no doubt here: the change has its limit and its p value.
    ratio.warnings.clear();
    let of_one = input::amount(t1).ln() - input::amount(t0).ln();
    let p = inverted(d1 as f64, d0 as f64, of_one, scatter);
    RateRatio { ratio, p }
}

/// Two-sided p value at a scatter that is itself widened at that p.
fn inverted(d1: f64, d0: f64, of_one: f64, scatter: &CountScatter) -> f64 {
    let at = |p: f64| {
        let by = scatter.divisor(1.0 - p);
        let (above, below) = mid_p_tails(d1 / by, d0 / by, of_one);
        (2.0 * above.min(below)).clamp(0.0, 1.0)
    };
    // A lower level widens the scatter less and so makes the tail smaller: there is one root.
    let beyond = |log_p: f64| log_p - at(log_p.exp()).max(1e-300).ln();
    input::finite(root(beyond, LEAST_P.ln(), 0.0).exp()).unwrap_or(1.0).clamp(LEAST_P, 1.0)
}
