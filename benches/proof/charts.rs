//! 5.1 over time and over sites: signals of charts on which nothing happens.

use super::chance::{binomial, normal, share, uneven};
use super::score::{Claim, Setting, alarm, alarms};
use motetrail::stats::funnel::funnel;
use motetrail::stats::p_prime;
use motetrail::stats::run_rules::run_rules;
use motetrail::synth::draw::Draw;

/// Weeks on a chart.
const WEEKS: u32 = 26;

/// Share of normal points beyond three standard deviations.
const BEYOND_THREE: f64 = 0.0027;

pub fn settings() -> Vec<Setting> {
    let mut all = vec![known_normal()];
    for (looks, p, correlation) in [
        (40.0, 0.8, 0.0),
        (400.0, 0.8, 0.0),
        (400.0, 0.8, 0.01),
        (40.0, 0.02, 0.0),
        (400.0, 0.02, 0.0),
    ] {
        all.push(weeks(looks, p, correlation));
    }
    for sites in [12, 40, 200] {
        for (looks, p, correlation) in
            [(30.0, 0.8, 0.0), (300.0, 0.8, 0.0), (300.0, 0.8, 0.02), (60.0, 0.03, 0.0)]
        {
            all.push(sites_in_funnel(sites, looks, p, correlation));
        }
    }
    all
}

/// What the rules do on points that are normal with a known spread: the yardstick of the others.
fn known_normal() -> Setting {
    let words = format!("{WEEKS} independent normal points; known spread");
    let claims = vec![
        Claim::stated("5.1", "run rules; points with a signal", &words),
        Claim::stated("5.1", "run rules; charts with any signal", &words),
    ];
    Setting::new(claims, |draw| {
        let z: Vec<f64> = (0..WEEKS).map(|_| normal(draw)).collect();
        signals(&z).to_vec()
    })
}

/// Shares of points and of charts with a signal.
fn signals(z: &[f64]) -> [Option<super::score::Score>; 2] {
    let found = run_rules(z);
    let at = |index: usize| found.iter().any(|signal| signal.index == index);
    [alarms((0..z.len()).map(at)), alarm(!found.is_empty())]
}

fn samples(draw: &mut Draw, count: u32, looks: f64, p: f64, correlation: f64) -> Vec<(u64, u64)> {
    let one = |_| {
        // A week has half its usual looks or more.
        let n = (0.5 * looks) as u64 + uneven(draw, 0.5 * looks);
        let own = share(draw, p, correlation);
        (binomial(draw, n, own), n)
    };
    (0..count).map(one).collect()
}

fn weeks(looks: f64, p: f64, correlation: f64) -> Setting {
    let words = format!("{WEEKS} weeks; {looks} looks each; p {p}; correlation {correlation}");
    let claims = vec![
        Claim::alarms("5.1", "p-prime limits; points outside", &words, BEYOND_THREE),
        Claim::stated("5.1", "p-prime with run rules; points with a signal", &words),
        Claim::stated("5.1", "p-prime with run rules; charts with any signal", &words),
    ];
    Setting::new(claims, move |draw| {
        let chart = p_prime(&samples(draw, WEEKS, looks, p, correlation));
        let points: Vec<_> = chart.points.iter().flatten().collect();
        let z: Vec<f64> = points.iter().map(|point| point.z_prime).collect();
        let [at_points, at_charts] = signals(&z);
        vec![
            alarms(points.iter().map(|p| p.share < p.prime.0 || p.share > p.prime.1)),
            at_points,
            at_charts,
        ]
    })
}

fn sites_in_funnel(sites: u32, looks: f64, p: f64, correlation: f64) -> Setting {
    let words = format!("{sites} sites; {looks} looks each; p {p}; correlation {correlation}");
    let claims = vec![
        Claim::alarms("5.1", "funnel with over-dispersion; outside 95 %", &words, 0.05),
        Claim::alarms("5.1", "funnel with over-dispersion; outside 99.8 %", &words, 0.002),
    ];
    let quick = if correlation == 0.0 && looks > 100.0 && sites < 100 { 200 } else { 0 };
    Setting::new(claims, move |draw| {
        let counts = samples(draw, sites, looks, p, correlation);
        let units: Vec<(f64, f64)> = counts.iter().map(|u| (u.0 as f64, u.1 as f64)).collect();
        let Some(funnel) = funnel(&units) else {
            return vec![None, None];
        };
        let outside = |level: f64| {
            let beyond = |&(events, n): &(f64, f64)| {
                let limits = funnel.limits(n, level);
                events / n < limits.low || events / n > limits.high
            };
            alarms(units.iter().map(beyond))
        };
        vec![outside(0.95), outside(0.998)]
    })
    .costly()
    .quick(quick)
}
