//! 5.5: Poisson regressions whose errors respect clusters of site-weeks.

use super::chance::{frailty, poisson};
use super::score::{Claim, Setting, alarm, covered};
use motetrail::stats::mantel_haenszel;
use motetrail::stats::stratified_poisson::{StratifiedRow, stratified_poisson, summed};
use motetrail::synth::draw::Draw;

const LEVEL: f64 = 0.95;

/// Strata of each set of rows.
const STRATA: u64 = 4;

pub fn settings() -> Vec<Setting> {
    let mut all = Vec::new();
    for clusters in [8, 40, 200] {
        for (events, variance) in [(2.0, 0.0), (2.0, 0.5), (0.1, 0.5)] {
            for ratio in [1.0, 2.0] {
                all.push(regression(clusters, events, variance, ratio));
            }
        }
    }
    for (telling, idle) in [(8, 200), (12, 300), (30, 300)] {
        for variance in [0.0, 0.5] {
            all.push(among_idle(telling, idle, variance));
        }
    }
    all
}

/// One exposed and one reference row a site-week. Each row has a multiplier of its own: what goes
/// wrong in a week does not go wrong for both alike.
fn rows(
    draw: &mut Draw,
    clusters: u64,
    events: f64,
    variance: f64,
    ratio: f64,
) -> Vec<StratifiedRow> {
    let mut rows = Vec::new();
    for cluster in 0..clusters {
        let stratum = cluster % STRATA;
        let share = 0.2 + 0.6 * draw.unit();
        let size = 0.5 + draw.unit();
        let rate = events * (0.5 + 0.25 * stratum as f64);
        for exposed in [true, false] {
            let time = size * if exposed { share } else { 1.0 - share };
            let own = frailty(draw, variance) * if exposed { ratio } else { 1.0 };
            let events = poisson(draw, rate * time * own) as f64;
            rows.push(StratifiedRow { stratum, cluster, exposed, events, time });
        }
    }
    rows
}

fn regression(clusters: u64, events: f64, variance: f64, ratio: f64) -> Setting {
    let words = format!(
        "{clusters} site-weeks in {STRATA} strata; {events} events each; variance {variance}; ratio {ratio}"
    );
    let mut claims = vec![
        Claim::covers("5.5", "stratified Poisson; cluster-robust", &words),
        Claim::covers("5.5", "Mantel-Haenszel beside it", &words),
    ];
    if ratio == 1.0 {
        claims.push(Claim::alarms("5.5", "stratified Poisson; robust p <= 0.05", &words, 0.05));
    }
    Setting::new(claims, move |draw| {
        let rows = rows(draw, clusters, events, variance, ratio);
        let fit = stratified_poisson(&rows, LEVEL);
        vec![
            covered(&fit.ratio, ratio),
            covered(&mantel_haenszel(&summed(&rows), LEVEL).ratio, ratio),
            fit.p.and_then(|p| alarm(p <= 0.05)),
        ]
    })
    .costly()
    .quick(if clusters == 200 && events > 1.0 { 60 } else { 0 })
}

/// Site-weeks that say something among others whose strata have one group only.
fn among_idle(telling: u64, idle: u64, variance: f64) -> Setting {
    let words =
        format!("{telling} site-weeks among {idle} of one group; variance {variance}; ratio 1");
    let claims = vec![
        Claim::covers("5.5", "stratified Poisson; cluster-robust; among idle", &words),
        Claim::alarms("5.5", "stratified Poisson; among idle; robust p <= 0.05", &words, 0.05),
    ];
    Setting::new(claims, move |draw| {
        let mut rows = rows(draw, telling, 4.0, variance, 1.0);
        for cluster in telling..telling + idle {
            let stratum = STRATA + cluster;
            let events = poisson(draw, 2.0) as f64;
            rows.push(StratifiedRow {
                stratum,
                cluster,
                exposed: cluster % 2 == 0,
                events,
                time: 1.0,
            });
        }
        let fit = stratified_poisson(&rows, LEVEL);
        vec![covered(&fit.ratio, 1.0), fit.p.and_then(|p| alarm(p <= 0.05))]
    })
    .quick(60)
}
