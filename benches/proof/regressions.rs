//! 5.5: Poisson regressions whose errors respect clusters of site-weeks.

use super::chance::{frailty, poisson};
use super::score::{Claim, Setting, alarm, covered};
use motetrail::stats::poisson_regression::{PoissonData, PoissonFit, poisson_regression};
use motetrail::stats::quantile::normal_quantile;
use motetrail::stats::stratified_poisson::{StratifiedRow, stratified_poisson};
use motetrail::stats::{Estimate, PersonTime, Warning, mantel_haenszel};
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
            let events = poisson(draw, rate * time * own);
            rows.push(StratifiedRow { stratum, cluster, exposed, events, time });
        }
    }
    rows
}

/// Strata summed over clusters.
fn summed(rows: &[StratifiedRow]) -> Vec<PersonTime> {
    let mut strata = vec![PersonTime::default(); STRATA as usize];
    for row in rows {
        let sums = &mut strata[row.stratum as usize];
        let (d, t) = match row.exposed {
            true => (&mut sums.d1, &mut sums.t1),
            false => (&mut sums.d0, &mut sums.t0),
        };
        *d += row.events;
        *t += row.time;
    }
    strata
}

/// Log ratio with its robust normal interval from the regression with a column a stratum.
fn dense(rows: &[StratifiedRow]) -> Option<Estimate> {
    let mut columns = vec![rows.iter().map(|row| f64::from(u8::from(row.exposed))).collect()];
    for stratum in 0..STRATA {
        columns.push(rows.iter().map(|r| f64::from(u8::from(r.stratum == stratum))).collect());
    }
    let events: Vec<f64> = rows.iter().map(|row| row.events as f64).collect();
    let offset: Vec<f64> = rows.iter().map(|row| row.time.ln()).collect();
    let clusters: Vec<u64> = rows.iter().map(|row| row.cluster).collect();
    let data = PoissonData {
        events: &events,
        columns: &columns,
        offset: &offset,
        clusters: Some(&clusters),
    };
    let usable = |fit: &PoissonFit| {
        !fit.warnings.iter().any(|w| matches!(w, Warning::Boundary | Warning::NotConverged))
    };
    let fit = poisson_regression(&data).ok().filter(usable)?;
    let reach = normal_quantile(LEVEL) * fit.robust?[0][0].sqrt();
    let value = fit.coefficients[0];
    Some(Estimate {
        value: Some(value),
        low: Some(value - reach),
        high: Some(value + reach),
        level: LEVEL,
        n: rows.len() as f64,
        events: 0,
        method: "Poisson regression, cluster-robust",
        warnings: Vec::new(),
    })
}

fn regression(clusters: u64, events: f64, variance: f64, ratio: f64) -> Setting {
    let words = format!(
        "{clusters} site-weeks in {STRATA} strata; {events} events each; variance {variance}; ratio {ratio}"
    );
    let mut claims = vec![
        Claim::covers("5.5", "stratified Poisson; cluster-robust", &words),
        Claim::covers("5.5", "Poisson regression; cluster-robust; log ratio", &words),
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
            dense(&rows).and_then(|estimate| covered(&estimate, ratio.ln())),
            covered(&mantel_haenszel(&summed(&rows), LEVEL).ratio, ratio),
            fit.p.and_then(|p| alarm(p <= 0.05)),
        ]
    })
    .costly()
    .quick(if clusters == 200 && events > 1.0 { 60 } else { 0 })
}
