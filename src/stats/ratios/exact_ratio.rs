//! One ratio of rates from strata, with limits that hold it whatever the counts.
//!
//! Promises at least the level. Stops at a common ratio of the strata of one cell.

use super::binomial_sum::{MOST_EVENTS, successes};
use super::mantel_haenszel::mantel_haenszel;
use super::person_time::PersonTime;
use super::tilted::tilted_log;
use crate::stats::estimate::{Estimate, Warning};
use crate::stats::special::input;
use crate::stats::special::root::root_from;

/// Conditional maximum-likelihood ratio with the exact limits: at each the probability of as many exposed
/// events or more (fewer), a sum of binomials given the events of the strata, is half of `1 - level`.
///
/// No exposed events: value 0 and the upper limit; exposed events only: no value, the lower limit,
/// `OneSided`. Nothing that says anything: `NoData`. Above 500 events: the interval of [`mantel_haenszel`].
///
/// Source: Breslow & Day (1987), Statistical Methods in Cancer Research II, section 3.5 [from memory]; with
/// one stratum it is the interval of Clopper & Pearson (1934).
pub fn exact_ratio(strata: &[PersonTime], level: f64) -> Estimate {
    let informative: Vec<PersonTime> =
        strata.iter().copied().filter(PersonTime::is_informative).collect();
    let events: f64 = informative.iter().map(PersonTime::events).sum();
    if events > MOST_EVENTS {
        return mantel_haenszel(strata, level).ratio;
    }
    let exposed = informative.iter().map(|s| s.d1).sum::<u64>();
    let mut ratio = Estimate {
        value: None,
        low: None,
        high: None,
        level,
        n: informative.iter().map(|s| input::amount(s.t1) + input::amount(s.t0)).sum(),
        events: events as u64,
        method: "exact conditional",
        warnings: Vec::new(),
    };
    if informative.is_empty() {
        ratio.warnings.push(Warning::NoData);
        return ratio;
    }
    let (observed, all) = (exposed as usize, events as usize);
    let tail = input::tail(level);
    let points = |log_ratio: f64| {
        let trials = informative.iter().flat_map(|s| {
            std::iter::repeat_n(s.log_shares(log_ratio).0.exp(), s.events() as usize)
        });
        successes(trials)
    };
    let log = |p: f64| p.max(1e-300).ln() - tail.max(1e-300).ln();
    let at_least = |log_ratio: f64| log(points(log_ratio)[observed..].iter().sum());
    let at_most = |log_ratio: f64| -log(points(log_ratio)[..=observed].iter().sum());
    let start =
        if observed > 0 && observed < all { tilted_log(&informative, 0.0, 0.0, None) } else { 0.0 };
    let value = match observed {
        0 => Some(0.0),
        _ if observed == all => None,
        _ => input::finite(start.exp()),
    };
    let limit = |log: f64| input::finite(log.exp());
    ratio.value = value;
    ratio.low = if observed == 0 { Some(0.0) } else { limit(root_from(at_least, start, 0.5)) };
    ratio.high = if observed == all { None } else { limit(root_from(at_most, start, 0.5)) };
    if observed == all {
        ratio.warnings.push(Warning::OneSided);
    }
    ratio
}
