//! 5.5: the ratio from risk sets, matings drawn one by one in small strata.
//!
//! What is drawn is not what is fitted: hazards fall with the time since mating, weeks have a luck of their own that all
//! their matings share, matings are taken apart at random, and half the sites tell times to the day.

use super::chance::normal;
use super::score::{Claim, Score, Scores, Setting, alarm, covered};
use motetrail::stats::mantel_haenszel;
use motetrail::stats::risk_sets::{Change, Events, risk_rows};
use motetrail::stats::stratified_poisson::{StratifiedRow, stratified_poisson, summed};
use motetrail::synth::draw::Draw;

const LEVEL: f64 = 0.95;

/// Weeks of a stratum.
const WEEKS: u64 = 13;
/// Strata of a site: they share its weeks.
const STRATA: u64 = 5;
/// Seconds of a day, and days of follow-up.
const DAY: f64 = 86_400.0;
const HORIZON: f64 = 90.0;

pub fn settings() -> Vec<Setting> {
    let mut all = Vec::new();
    for faults in [100.0, 1000.0] {
        for exposed in [0.01, 0.1] {
            all.push(fleet(Fleet { faults, exposed, size: 40, luck: 0.0, ratio: 2.5 }));
        }
    }
    for (size, luck) in [(6, 0.0), (6, 0.5), (200, 0.5)] {
        for ratio in [1.0, 2.5] {
            all.push(fleet(Fleet { faults: 300.0, exposed: 0.3, size, luck, ratio }));
        }
    }
    all
}

/// A fleet that is drawn.
#[derive(Clone, Copy)]
struct Fleet {
    /// Expected faults.
    faults: f64,
    /// Share of matings that are exposed.
    exposed: f64,
    /// Matings of a stratum.
    size: u64,
    /// Variance of the log of a week's luck.
    luck: f64,
    ratio: f64,
}

/// Chance of a fault within the horizon of a mating that is not exposed.
const RISK: f64 = 0.05;

fn rows(draw: &mut Draw, fleet: Fleet) -> Vec<StratifiedRow> {
    let Fleet { faults, exposed, size, luck, ratio } = fleet;
    // Two in three are followed to the horizon or a fault.
    let each = 0.85 * RISK * (1.0 + exposed * (ratio - 1.0));
    let strata = (faults / (each * size as f64)).round().max(1.0) as u64;
    let (mut changes, mut events) = (Vec::new(), Vec::new());
    let mut weeks = Vec::new();
    for stratum in 0..strata {
        let site = stratum / STRATA;
        if stratum % STRATA == 0 {
            let luck = |_| (luck.sqrt() * normal(draw) - 0.5 * luck).exp();
            weeks = (0..WEEKS).map(luck).collect();
        }
        let by_day = site.is_multiple_of(2);
        for _ in 0..size {
            let week = (draw.unit() * WEEKS as f64) as u64;
            let cluster = site * WEEKS + week;
            let is_exposed = draw.unit() < exposed;
            let weeks: &[f64] = &weeks;
            let hazard = RISK * weeks[week as usize] * if is_exposed { ratio } else { 1.0 };
            // The cumulative hazard grows with the root of time: most comes early.
            let share = -draw.unit().max(1e-300).ln() / hazard;
            let fault = if share < 1.0 { share * share * HORIZON } else { f64::INFINITY };
            let apart = if draw.unit() < 0.3 { HORIZON * draw.unit() } else { f64::INFINITY };
            let end = HORIZON.min(apart);
            let had = fault <= end;
            let days = fault.min(end);
            let seconds = if by_day { days.floor() * DAY } else { days * DAY };
            let time = seconds as u64;
            changes.push(Change { stratum, cluster, exposed: is_exposed, time: 0, subjects: 1 });
            changes.push(Change {
                stratum,
                cluster,
                exposed: is_exposed,
                time: time + 1,
                subjects: -1,
            });
            if had {
                events.push(Events { stratum, time, cluster, exposed: is_exposed, events: 1 });
            }
        }
    }
    risk_rows(changes, events)
}

fn fleet(fleet: Fleet) -> Setting {
    let Fleet { faults, exposed, size, luck, ratio } = fleet;
    let words = format!(
        "{faults} faults; {exposed} exposed; strata of {size}; week luck of variance {luck}; ratio {ratio}"
    );
    let mut claims = vec![
        Claim::covers("5.5", "risk sets; errors by site-week", &words),
        Claim::stated("5.5", "risk sets; mean log ratio less the truth", &words),
        Claim::stated("5.5", "risk sets; mean dispersion", &words),
        Claim::covers("5.5", "Mantel-Haenszel over risk sets", &words),
    ];
    if ratio == 1.0 {
        claims.push(Claim::alarms("5.5", "risk sets; p <= 0.05", &words, 0.05));
    }
    let figure = |value: Option<f64>| value.map(|share| Score { share, width: None });
    Setting::new(claims, move |draw| -> Scores {
        let rows = rows(draw, fleet);
        let fit = stratified_poisson(&rows, LEVEL);
        vec![
            covered(&fit.ratio, ratio),
            figure(fit.log_ratio.map(|log| log - f64::ln(ratio))),
            figure(fit.dispersion),
            covered(&mantel_haenszel(&summed(&rows), LEVEL).ratio, ratio),
            fit.p.and_then(|p| alarm(p <= 0.05)),
        ]
    })
    .costly()
    .quick(if size == 6 && luck > 0.0 { 60 } else { 0 })
}
