//! 5.4: cumulative hazard, rates, their ratio and standardised rates.

use super::chance::{frailty, poisson};
use super::score::{Claim, Setting, alarm, covered};
use motetrail::stats::rate::{garwood, rate_ratio};
use motetrail::stats::standardised::{WeightedStratum, fay_feuer_dispersed};
use motetrail::stats::{Band, cumulative_hazard};
use motetrail::synth::draw::Draw;

const LEVEL: f64 = 0.95;

/// Edges of the bands after a mating, days.
const EDGES: [f64; 4] = [0.0, 7.0, 30.0, 90.0];

/// Shares of the cumulative hazard that fall into the bands: faults come early.
const EARLY: [f64; 3] = [0.4, 0.3, 0.3];

pub fn settings() -> Vec<Setting> {
    let mut all = Vec::new();
    for (matings, hazard, variance) in
        [(50, 0.3, 0.0), (500, 0.3, 0.0), (500, 0.01, 0.0), (5000, 0.001, 0.0), (500, 0.1, 0.5)]
    {
        all.push(by_horizon(matings, hazard, variance));
    }
    for (mean, phi) in [(0.5, 1.0), (3.0, 1.0), (20.0, 1.0), (200.0, 1.0), (20.0, 2.0)] {
        all.push(one_rate(mean, phi));
    }
    for expected in [3.0, 20.0, 200.0] {
        all.push(standardised(expected));
    }
    for (exposed, reference) in [(1.0, 30.0), (5.0, 20.0), (50.0, 200.0)] {
        for ratio in [1.0, 2.0] {
            for phi in [1.0, 2.0] {
                all.push(two_rates(exposed, reference, ratio, phi));
            }
        }
    }
    all
}

/// Events and person-time of matings in bands; each is watched for 90 days or less. Matings of one
/// site-week (25 of them) share a multiplier of their hazard.
fn bands(draw: &mut Draw, matings: u32, hazard: f64, variance: f64) -> Vec<Band> {
    let mut bands: Vec<Band> = EDGES
        .windows(2)
        .map(|edge| Band { width: edge[1] - edge[0], events: 0, exposure: 0.0 })
        .collect();
    let mut shared = 1.0;
    for mating in 0..matings {
        if mating % 25 == 0 {
            shared = frailty(draw, variance);
        }
        // Half are watched to the end, the rest for a time that is anywhere before it.
        let end = (180.0 * draw.unit()).min(90.0);
        for (edge, (band, part)) in EDGES.iter().zip(bands.iter_mut().zip(EARLY)) {
            let until = band.width.min(end - edge);
            if until <= 0.0 {
                break;
            }
            let wait = draw.wait() * band.width / (hazard * part * shared);
            band.exposure += wait.min(until);
            if wait < until {
                band.events += 1;
                break;
            }
        }
    }
    bands
}

fn by_horizon(matings: u32, hazard: f64, variance: f64) -> Setting {
    let words =
        format!("{matings} matings; hazard {hazard}; variance between site-weeks {variance}");
    let claims = vec![Claim::covers("5.4", "cumulative hazard; Fay-Feuer", &words)];
    let quick = if matings == 50 || hazard < 0.02 { 300 } else { 0 };
    Setting::new(claims, move |draw| {
        let bands = bands(draw, matings, hazard, variance);
        vec![covered(&cumulative_hazard(&bands, LEVEL), hazard)]
    })
    .costly()
    .quick(quick)
}

/// A count with this mean and a variance `phi` times as large.
fn count(draw: &mut Draw, mean: f64, phi: f64) -> u64 {
    let own = mean * frailty(draw, (phi - 1.0) / mean);
    poisson(draw, own)
}

fn one_rate(mean: f64, phi: f64) -> Setting {
    let words = format!("{mean} events expected; variance over mean {phi}");
    let claims = vec![Claim::covers("5.4", "rate; Garwood", &words)];
    Setting::new(claims, move |draw| {
        let events = count(draw, mean, phi);
        vec![covered(&garwood(events, 100.0, LEVEL), mean / 100.0)]
    })
    .quick(if phi > 1.0 { 0 } else { 400 })
}

/// Twelve strata whose weights and exposures differ up to twelvefold, in opposite orders.
fn standardised(expected: f64) -> Setting {
    let words = format!("12 strata; {expected} events expected");
    let claims = vec![Claim::covers("5.4", "standardised rate; Fay-Feuer", &words)];
    let exposure = |stratum: u32| f64::from(12 - stratum);
    let rate = move |stratum: u32| expected / 78.0 * (0.5 + f64::from(stratum % 3) / 2.0);
    let truth: f64 = (0..12).map(|stratum| f64::from(stratum + 1) * rate(stratum)).sum();
    Setting::new(claims, move |draw| {
        let mut stratum = |number: u32| WeightedStratum {
            weight: f64::from(number + 1),
            events: poisson(draw, rate(number) * exposure(number)),
            exposure: exposure(number),
        };
        let strata: Vec<WeightedStratum> = (0..12).map(&mut stratum).collect();
        vec![covered(&fay_feuer_dispersed(&strata, 1.0, LEVEL), truth)]
    })
    .quick(300)
}

/// Site-weeks of each group.
const SITE_WEEKS: u32 = 40;

/// Two groups of site-weeks; events of a site-week vary `phi` times as much as Poisson counts.
fn two_rates(exposed: f64, reference: f64, ratio: f64, phi: f64) -> Setting {
    let words = format!(
        "{exposed} and {reference} events expected at a ratio of 1; ratio {ratio}; variance over mean {phi}"
    );
    let mut claims = vec![Claim::covers("5.4", "rate ratio; exact conditional mid-P", &words)];
    if ratio == 1.0 {
        claims.push(Claim::alarms("5.4", "rate ratio; mid-P p <= 0.05", &words, 0.05));
    }
    Setting::new(claims, move |draw| {
        let mut group = |mean: f64| -> u64 {
            let each = mean / f64::from(SITE_WEEKS);
            (0..SITE_WEEKS).map(|_| count(draw, each, phi)).sum()
        };
        let (d1, d0) = (group(exposed * ratio), group(reference));
        let found = rate_ratio(d1, exposed, d0, reference, LEVEL);
        let known = d1 + d0 > 0;
        vec![covered(&found.ratio, ratio).filter(|_| known), alarm(found.p <= 0.05)]
    })
    .quick(if phi == 1.0 { 150 } else { 0 })
}
