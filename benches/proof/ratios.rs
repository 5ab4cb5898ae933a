//! 5.5: the common ratio of rates over strata, and what follows from it.

use super::chance::{frailty, normal, poisson};
use super::score::{Claim, Setting, alarm, covered, leaves_out};
use motetrail::stats::homogeneity::homogeneity;
use motetrail::stats::{PersonTime, exposed_fraction, mantel_haenszel};
use motetrail::synth::draw::Draw;

const LEVEL: f64 = 0.95;

pub fn settings() -> Vec<Setting> {
    let mut all = Vec::new();
    for (strata, events) in [(20, 0.1), (20, 1.0), (20, 10.0), (200, 0.1), (200, 1.0)] {
        for ratio in [1.0, 2.0] {
            all.push(common(strata, events, ratio, 0.0));
        }
    }
    for exposed in [0.03, 0.05, 0.4] {
        all.push(shared_ratio(20, 1.4, exposed));
        all.push(shared_ratio(282, 1.4, exposed));
    }
    all.push(common(20, 10.0, 1.0, 0.3));
    all.push(common(20, 10.0, 2.0, 0.3));
    all
}

/// Strata of which a quarter to a half of the person-time is exposed and whose rates differ
/// threefold. Each side of a stratum has a multiplier of its own with this variance.
pub fn strata(
    draw: &mut Draw,
    count: u32,
    events: f64,
    ratio: f64,
    variance: f64,
) -> Vec<PersonTime> {
    let mut stratum = |number: u32| {
        let share = 0.25 + 0.25 * f64::from(number % 5) / 4.0;
        let rate = events * (0.5 + f64::from(number % 3) / 2.0);
        let (own, other) = (frailty(draw, variance), frailty(draw, variance));
        let d1 = poisson(draw, rate * share * ratio * own);
        let d0 = poisson(draw, rate * (1.0 - share) * other);
        PersonTime { d1, t1: share, d0, t0: 1.0 - share }
    };
    (0..count).map(&mut stratum).collect()
}

fn common(count: u32, events: f64, ratio: f64, variance: f64) -> Setting {
    let words = format!(
        "{count} strata; {events} events each; ratio {ratio}; variance between sides {variance}"
    );
    let mut claims = vec![
        Claim::covers("5.5", "Mantel-Haenszel; Greenland-Robins", &words),
        Claim::covers("5.5", "attributable fraction of the exposed", &words),
    ];
    if ratio == 1.0 {
        claims.push(Claim::alarms("5.5", "negative control leaves out 1", &words, 0.05));
        claims.push(Claim::alarms("5.5", "Mantel-Haenszel test p <= 0.05", &words, 0.05));
    }
    Setting::new(claims, move |draw| {
        let strata = strata(draw, count, events, ratio, variance);
        let found = mantel_haenszel(&strata, LEVEL);
        let known = found.ratio.n > 0.0;
        vec![
            covered(&found.ratio, ratio),
            covered(&exposed_fraction(&found.ratio), 1.0 - 1.0 / ratio),
            alarm(leaves_out(&found.ratio, 1.0)).filter(|_| known),
            alarm(found.test.p <= 0.05).filter(|_| known),
        ]
    })
    .quick(if variance == 0.0 { 200 } else { 0 })
}

/// Strata of whose person-time this share is exposed: whether they share one ratio, where they do and where the
/// log ratios differ by 0.5.
fn shared_ratio(count: u32, events: f64, exposed: f64) -> Setting {
    let words = format!("{count} strata; {events} events each; {exposed} exposed; ratio 2.5");
    let claims = vec![
        Claim::alarms("5.5", "homogeneity of strata p <= 0.05", &words, 0.05),
        Claim::stated("5.5", "homogeneity of strata p <= 0.05; log ratios differ by 0.5", &words),
    ];
    Setting::new(claims, move |draw| {
        let mut test = |spread: f64| {
            let mut stratum = || {
                let share = exposed * (0.5 + draw.unit());
                let (rate, ratio) =
                    (events * frailty(draw, 0.5), 2.5 * (spread * normal(draw)).exp());
                let d1 = poisson(draw, rate * share * ratio);
                let d0 = poisson(draw, rate * (1.0 - share));
                PersonTime { d1, t1: share, d0, t0: 1.0 - share }
            };
            let strata: Vec<Vec<PersonTime>> = (0..count).map(|_| vec![stratum()]).collect();
            homogeneity(&strata).and_then(|test| alarm(test.p <= 0.05))
        };
        vec![test(0.0), test(0.5)]
    })
    .costly()
    .quick(if count == 20 { 100 } else { 0 })
}
