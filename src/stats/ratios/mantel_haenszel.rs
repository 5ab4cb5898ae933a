//! One ratio of rates from many strata.
//!
//! Promises that strata that say nothing change nothing. Stops at a common ratio; how far strata
//! disagree is in the homogeneity test, and a value for each cell is in `random_effects`.

use super::person_time::PersonTime;
use crate::stats::estimate::{Estimate, Warning};
use crate::stats::special::input;
use crate::stats::special::quantile::{chi_square_upper, normal_quantile};
use crate::stats::special::root::root_from;

/// Fewest expected events of a group for which the normal interval is taken without a warning
/// (common practice).
const ENOUGH_EXPECTED: f64 = 5.0;

/// A chi-square test.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChiSquare {
    /// The statistic, at least 0.
    pub statistic: f64,
    /// Its degrees of freedom.
    pub df: u64,
    /// Probability of a statistic as large or larger, in [0, 1].
    pub p: f64,
}

/// Common ratio of rates with its tests.
#[derive(Clone, Debug, PartialEq)]
pub struct CommonRatio {
    /// Rate of the exposed over that of the reference. `n` is the person-time and `events` the events of
    /// the strata that say something.
    pub ratio: Estimate,
    /// Test of a ratio of 1, one degree of freedom, no continuity correction.
    pub test: ChiSquare,
    /// Score test that all strata share the ratio. `None` with fewer than two informative strata, or
    /// without a ratio.
    pub homogeneity: Option<ChiSquare>,
}

/// Mantel-Haenszel ratio of rates over strata.
///
/// Events on one side only: no value, the exact limit of [`one_sided`], `OneSided`. No informative
/// stratum: `NoData`, p 1. A side that expects fewer than 5 events at a ratio of 1: `Approximate`.
///
/// Source: Rothman & Boice (1979) for the ratio; Greenland & Robins (1985), Biometrics 41, 55-68, for
/// `var ln = sum(m t1 t0 / t^2) / (R S)`; test and homogeneity, `sum (d1 - E)^2 / V` with E and V at
/// the Mantel-Haenszel ratio, Breslow & Day (1987), Statistical Methods in Cancer Research II, sections
/// 3.4 and 3.6 [section numbers from memory].
pub fn mantel_haenszel(strata: &[PersonTime], level: f64) -> CommonRatio {
    let informative: Vec<PersonTime> =
        strata.iter().copied().filter(PersonTime::is_informative).collect();
    let sums = Sums::of(&informative);
    let test = sums.test();
    let mut ratio = Estimate {
        value: None,
        low: None,
        high: None,
        level,
        n: informative.iter().map(|s| input::amount(s.t1) + input::amount(s.t0)).sum(),
        events: informative
            .iter()
            .fold(0, |sum: u64, s| sum.saturating_add(s.d1).saturating_add(s.d0)),
        method: "Mantel-Haenszel, Greenland-Robins",
        warnings: Vec::new(),
    };
    if informative.is_empty() {
        ratio.warnings.push(Warning::NoData);
        return CommonRatio { ratio, test, homogeneity: None };
    }
    if sums.expected.min(sums.total - sums.expected) < ENOUGH_EXPECTED {
        ratio.warnings.push(Warning::Approximate);
    }
    if sums.exposed <= 0.0 || sums.exposed >= sums.total {
        ratio = one_sided(&informative, level, ratio);
        return CommonRatio { ratio, test, homogeneity: None };
    }
    let log = (sums.above / sums.below).ln();
    let reach = normal_quantile(level) * (sums.spread / sums.above / sums.below).sqrt();
    ratio.value = input::finite(log.exp());
    ratio.low = input::finite((log - reach).exp());
    ratio.high = input::finite((log + reach).exp());
    CommonRatio { ratio, test, homogeneity: homogeneity(&informative, log) }
}

/// Sums over informative strata, in the letters of the source: R, S, sum(m t1 t0 / t^2).
#[derive(Default)]
struct Sums {
    above: f64,
    below: f64,
    spread: f64,
    exposed: f64,
    expected: f64,
    total: f64,
}

impl Sums {
    fn of(informative: &[PersonTime]) -> Self {
        let mut sums = Self::default();
        for stratum in informative {
            let (log_share, log_rest) = stratum.log_shares(0.0);
            let (share, rest) = (log_share.exp(), log_rest.exp());
            let events = stratum.events();
            sums.above += stratum.d1 as f64 * rest;
            sums.below += stratum.d0 as f64 * share;
            sums.spread += events * share * rest;
            sums.exposed += stratum.d1 as f64;
            sums.expected += events * share;
            sums.total += events;
        }
        sums
    }

    fn test(&self) -> ChiSquare {
        let statistic = if self.spread > 0.0 {
            ((self.exposed - self.expected).powi(2) / self.spread).min(f64::MAX)
        } else {
            0.0
        };
        ChiSquare { statistic, df: 1, p: chi_square_upper(statistic, 1.0) }
    }
}

fn homogeneity(informative: &[PersonTime], log_ratio: f64) -> Option<ChiSquare> {
    let df = u64::try_from(informative.len()).ok()?.checked_sub(1).filter(|&df| df > 0)?;
    let term = |stratum: &PersonTime| {
        let (log_share, log_rest) = stratum.log_shares(log_ratio);
        let expected = stratum.events() * log_share.exp();
        (stratum.d1 as f64 - expected).powi(2) / (expected * log_rest.exp())
    };
    let statistic = input::finite(informative.iter().map(term).sum())?;
    Some(ChiSquare { statistic, df, p: chi_square_upper(statistic, df as f64) })
}

/// The exact limit where all events of the `informative` strata are on one side: the ratio at which
/// the product of the strata's binomial probabilities of just that is half of `1 - level`. `blank` holds
/// what is known apart from the limits.
///
/// Source: exact conditional inference, Breslow & Day (1987), section 3.5 [from memory]; with one
/// stratum it is the Clopper-Pearson limit.
pub(super) fn one_sided(informative: &[PersonTime], level: f64, blank: Estimate) -> Estimate {
    let target = input::tail(level).ln();
    let all_exposed = informative.iter().all(|s| s.d0 == 0);
    // With all events on the exposed side the chance of that rises with the ratio; else it falls.
    let log_chance = |log_ratio: f64| -> f64 {
        let term = |s: &PersonTime| {
            let (share, rest) = s.log_shares(log_ratio);
            s.events() * if all_exposed { share } else { rest }
        };
        informative.iter().map(term).sum()
    };
    let start =
        -informative.iter().map(PersonTime::log_odds).sum::<f64>() / informative.len() as f64;
    let rising = |log_ratio: f64| {
        if all_exposed { log_chance(log_ratio) - target } else { target - log_chance(log_ratio) }
    };
    let limit = input::finite(root_from(rising, start, 1.0).exp());
    let mut warnings = blank.warnings;
    warnings.push(Warning::OneSided);
    Estimate {
        value: None,
        low: if all_exposed { limit } else { Some(0.0) },
        high: if all_exposed { None } else { limit },
        method: "exact conditional, one-sided",
        warnings,
        ..blank
    }
}
