//! 5.5: money that goes with skipped looks, and the bootstrap of a net saving.

use super::chance::{frailty, normal, poisson};
use super::score::{Claim, Setting, covered};
use motetrail::stats::bootstrap::{Resampled, expanded_percentile, poisson_weight};
use motetrail::stats::{Estimate, PersonTime, exposed_fraction, mantel_haenszel};
use motetrail::synth::draw::Draw;

const LEVEL: f64 = 0.95;

/// Replicates of each bootstrap.
const REPLICATES: u64 = 399;

/// Mean cost of a fault, and cost of the looks of a unit of exposed time.
const FAULT: f64 = 1000.0;
const LOOKS: f64 = 300.0;

/// True ratio of rates.
const RATIO: f64 = 2.0;

pub fn settings() -> Vec<Setting> {
    let mut all = Vec::new();
    for clusters in [8, 40, 150] {
        for (events, variance) in [(2.0, 0.0), (2.0, 0.5), (0.2, 0.5)] {
            all.push(net_saving(clusters, events, variance));
        }
    }
    all
}

/// A site-week of one stratum, with the cost of its exposed faults.
struct SiteWeek {
    counts: PersonTime,
    cost: f64,
}

fn site_week(draw: &mut Draw, events: f64, variance: f64) -> SiteWeek {
    let share = 0.3 + 0.4 * draw.unit();
    let size = 0.5 + draw.unit();
    let (t1, t0) = (size * share, size * (1.0 - share));
    let (own, other) = (frailty(draw, variance), frailty(draw, variance));
    let d1 = poisson(draw, events * t1 * RATIO * own);
    let d0 = poisson(draw, events * t0 * other);
    // Log-normal with a coefficient of variation of about 1 and mean 1.
    let cost = (0..d1).map(|_| FAULT * (0.8 * normal(draw) - 0.32).exp()).sum();
    SiteWeek { counts: PersonTime { d1, t1, d0, t0 }, cost }
}

/// Sums of the weighted site-weeks; weights of 1 give the data themselves.
fn summed(weeks: &[SiteWeek], weights: &[u32]) -> (PersonTime, f64) {
    let mut sums = PersonTime::default();
    let mut cost = 0.0;
    for (week, weight) in weeks.iter().zip(weights) {
        sums.d1 += week.counts.d1 * u64::from(*weight);
        sums.d0 += week.counts.d0 * u64::from(*weight);
        sums.t1 += week.counts.t1 * f64::from(*weight);
        sums.t0 += week.counts.t0 * f64::from(*weight);
        cost += week.cost * f64::from(*weight);
    }
    (sums, cost)
}

/// Cost of the exposed faults that goes with the exposure, less the cost of looks.
fn net(weeks: &[SiteWeek], weights: &[u32]) -> Option<f64> {
    let (sums, cost) = summed(weeks, weights);
    let ratio = mantel_haenszel(&[sums], LEVEL).ratio.value?;
    Some(cost * (1.0 - 1.0 / ratio) - LOOKS * sums.t1)
}

fn net_saving(clusters: u64, events: f64, variance: f64) -> Setting {
    let words = format!("{clusters} site-weeks; {events} events each; variance {variance}");
    let claims = vec![
        Claim::covers("5.5", "net saving; cluster bootstrap expanded percentile", &words),
        Claim::covers("5.5", "attributable cost seen; cost times fraction", &words),
        Claim::covers("5.5", "attributable cost expected; cost times fraction", &words),
    ];
    // Exposed time is half a unit a site-week on average, and independent of its share.
    let exposed = 0.5 * clusters as f64;
    let attributable = exposed * events * RATIO * FAULT * (1.0 - 1.0 / RATIO);
    Setting::new(claims, move |draw| {
        let weeks: Vec<SiteWeek> =
            (0..clusters).map(|_| site_week(draw, events, variance)).collect();
        let ones = vec![1; weeks.len()];
        let (sums, cost) = summed(&weeks, &ones);
        let of = Resampled { value: net(&weeks, &ones), n: sums.t1, events: sums.d1, clusters };
        let seed = draw.bits();
        let weights = |replicate| -> Vec<u32> {
            (0..clusters).map(|cluster| poisson_weight(seed, replicate, cluster)).collect()
        };
        let drawn: Vec<Option<f64>> =
            (0..REPLICATES).map(|replicate| net(&weeks, &weights(replicate))).collect();
        let found = expanded_percentile(of, &drawn, LEVEL);
        let saving = attributable - LOOKS * exposed;
        let known = of.value.is_some();
        let fraction = exposed_fraction(&mantel_haenszel(&[sums], LEVEL).ratio);
        let scaled = |share: Option<f64>| share.map(|share| share * cost);
        let money = Estimate {
            value: scaled(fraction.value),
            low: scaled(fraction.low),
            high: scaled(fraction.high),
            ..fraction
        };
        vec![
            covered(&found, saving).filter(|_| known),
            covered(&money, cost * (1.0 - 1.0 / RATIO)).filter(|_| known),
            covered(&money, attributable).filter(|_| known),
        ]
    })
    .costly()
}
