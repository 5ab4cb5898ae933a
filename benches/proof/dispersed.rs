//! 5.4: rates, their ratio, standardised rates and cumulative hazards whose faults come in site-weeks;
//! trends and recurrences from counts; quantiles of times to restore.

use super::chance::{frailty, normal, poisson};
use super::score::{Claim, Scores, Setting, alarm, covered};
use motetrail::stats::cumulative_hazard::{Band, cumulative_hazard_dispersed};
use motetrail::stats::grouped_recurrence::{GroupedHistories, grouped_mean_cumulative};
use motetrail::stats::grouped_trend::{Spell, grouped_laplace, grouped_power_law, scatter_about};
use motetrail::stats::order_quantile::order_quantile;
use motetrail::stats::rate::{garwood, garwood_dispersed, rate_ratio_scaled, scatter_of_ratio};
use motetrail::stats::shared_scatter::{Part, scatter};
use motetrail::stats::standardised::{WeightedStratum, fay_feuer_dispersed};
use motetrail::stats::{BLOCK_WEEKS, lasting, that_tell};
use motetrail::synth::draw::Draw;

const LEVEL: f64 = 0.95;
const WEEKS: u64 = 13;
const STRATA: u64 = 4;

pub fn settings() -> Vec<Setting> {
    let mut all = Vec::new();
    for (sites, expected) in [(1, 3.0), (1, 15.0), (10, 5.0), (10, 50.0), (10, 300.0)] {
        for variance in [0.0, 0.5, 2.0] {
            all.push(site_weeks(sites, expected, variance));
        }
    }
    for (sites, expected) in [(10, 50.0), (10, 300.0), (30, 150.0), (30, 900.0)] {
        for (weeks, variance) in [(1, 0.5), (4, 0.5), (13, 0.5)] {
            all.push(lasting_luck(sites, expected, (weeks, variance)));
        }
    }
    for (clusters, hazard, variance) in
        [(26, 0.1, 0.0), (26, 0.1, 0.5), (130, 0.02, 0.5), (130, 0.001, 0.5)]
    {
        all.push(by_horizon(clusters, hazard, variance));
    }
    for (quarters, expected) in [(4, 10.0), (6, 50.0), (8, 300.0)] {
        for growth in [1.0, 1.5] {
            for phi in [1.0, 2.0] {
                all.push(trend(quarters, expected, growth, phi));
            }
        }
    }
    for (clusters, mean, variance) in [(26, 0.02, 0.0), (26, 0.2, 0.5), (130, 0.2, 0.5)] {
        all.push(recurrences(clusters, mean, variance));
    }
    for n in [4, 12, 40, 300] {
        all.push(quartiles(n));
    }
    all
}

/// What the sites' weeks came to, by site. Strata differ threefold in rate; sites and weeks differ in
/// exposure. Faults of a site-week share a multiplier with this variance.
fn fleet(draw: &mut Draw, sites: u64, expected: f64, variance: f64) -> Vec<Vec<Part>> {
    let whole: f64 = (0..sites * WEEKS * STRATA).map(|at| exposure(at) * rate(at % STRATA)).sum();
    let mut site = |site: u64| -> Vec<Part> {
        let weeks = site * WEEKS..(site + 1) * WEEKS;
        let week = |cluster: u64| {
            let shared = frailty(draw, variance);
            let part = |stratum: u64| {
                let exposure = exposure(cluster * STRATA + stratum);
                let mean = expected / whole * rate(stratum) * exposure * shared;
                Part { cluster, stratum, events: poisson(draw, mean), exposure }
            };
            (0..STRATA).map(part).collect::<Vec<Part>>()
        };
        weeks.flat_map(week).collect()
    };
    (0..sites).map(&mut site).collect()
}

fn exposure(at: u64) -> f64 {
    0.4 + ((at * 7) % 11) as f64 / 5.0
}

fn rate(stratum: u64) -> f64 {
    0.5 + stratum as f64 / 2.0
}

fn total(parts: &[Part]) -> (u64, f64) {
    parts.iter().fold((0, 0.0), |sum, part| (sum.0 + part.events, sum.1 + part.exposure))
}

fn taken(parts: &[Part]) -> f64 {
    scatter(parts).widened(LEVEL).unwrap_or(1.0)
}

fn site_weeks(sites: u64, expected: f64, variance: f64) -> Setting {
    let words = format!(
        "{sites} sites; {expected} events expected; variance between site-weeks {variance}"
    );
    let covers = |method: &str| Claim::covers("5.4", method, &words);
    let mut claims = vec![
        covers("rate; Garwood over scatter of site-weeks"),
        covers("standardised rate; Fay-Feuer over scatter of site-weeks"),
        Claim::stated("5.4", "rate; Garwood where site-weeks scatter", &words),
    ];
    if variance == 0.0 {
        claims.push(Claim::alarms("5.4", "scatter of site-weeks p <= 0.05", &words, 0.05));
    }
    if sites > 1 {
        claims.push(covers("rate ratio; mid-P over scatter of site-weeks"));
        let method = "rate ratio; mid-P over scatter of site-weeks p <= 0.05";
        claims.push(Claim::alarms("5.4", method, &words, 0.05));
    }
    let quick = if sites == 1 && variance <= 0.5 { 300 } else { 0 };
    Setting::new(claims, move |draw| {
        let by_site = fleet(draw, sites, expected, variance);
        let all: Vec<Part> = by_site.concat();
        let (events, time) = total(&all);
        let phi = taken(&all);
        let scale: f64 = all.iter().map(|part| part.exposure * rate(part.stratum)).sum();
        let truth = expected / time;
        let strata: Vec<WeightedStratum> = (0..STRATA)
            .map(|stratum| {
                let of = |part: &&Part| part.stratum == stratum;
                let own: Vec<Part> = all.iter().filter(of).copied().collect();
                let (events, exposure) = total(&own);
                // The mix that is standardised to is not that of the exposure.
                WeightedStratum { weight: 1.0 + stratum as f64, events, exposure }
            })
            .collect();
        let mixed: f64 = (0..STRATA).map(|s| (1.0 + s as f64) * rate(s) * expected / scale).sum();
        let mut scores: Scores = vec![
            covered(&garwood_dispersed(events, time, phi, LEVEL), truth),
            covered(&fay_feuer_dispersed(&strata, phi, LEVEL), mixed),
            covered(&garwood(events, time, LEVEL), truth),
        ];
        if variance == 0.0 {
            scores.push(alarm(scatter(&all).p <= 0.05));
        }
        if sites > 1 {
            scores.extend(against_the_rest(&by_site, phi));
        }
        scores
    })
    .quick(quick)
    .costly()
}

/// Quarters whose scatter is asked, the last of them reviewed: those whose weeks a review has, the quarters it compares.
const QUARTERS: u64 = 3;
/// Fewest blocks that a scatter rests on.
const FEW: u64 = 10;

/// Sites whose luck lasts some weeks, from no week of the calendar in common, gamma with this variance; the fleet's rate of
/// the last quarter, the standardised one, and a site's against the rest. Sites have rates of their own, too: half of them
/// a fifth above the others.
fn lasting_luck(sites: u64, expected: f64, (weeks, variance): (u64, f64)) -> Setting {
    let words = format!(
        "{sites} sites; {expected} events expected; variance {variance} between spells of {weeks} weeks of a site"
    );
    let covers = |method: &str| Claim::covers("5.4", method, &words);
    let claims = vec![
        covers("rate; Garwood over scatter of blocks as long as luck lasts"),
        covers("rate of a site; Garwood over scatter of blocks as long as luck lasts"),
        covers("rate ratio; mid-P over scatter of blocks as long as luck lasts"),
        Claim::stated("5.4", "rate; Garwood over scatter of site-weeks whatever lasts", &words),
    ];
    Setting::new(claims, move |draw| {
        let all = WEEKS * QUARTERS;
        let own = |site: u64| if site.is_multiple_of(2) { 1.0 } else { 1.2 };
        // Part by part: site, week, stratum.
        let mut parts: Vec<(u64, u64, Part)> = Vec::new();
        let scale = expected / (1.1 * sites as f64 * (WEEKS * STRATA) as f64 * 1.25 * 1.4);
        for site in 0..sites {
            let begins = (draw.unit() * weeks as f64) as u64;
            let mut luck = frailty(draw, variance);
            for week in 0..all {
                if (week + begins).is_multiple_of(weeks) {
                    luck = frailty(draw, variance);
                }
                for stratum in 0..STRATA {
                    let exposure = exposure((site * all + week) * STRATA + stratum);
                    let mean = scale * rate(stratum) * exposure * own(site) * luck;
                    let part = Part { stratum, events: poisson(draw, mean), exposure, cluster: 0 };
                    parts.push((site, week, part));
                }
            }
        }
        let blocked = |length: u32, within: bool, from: u64| -> Vec<Part> {
            let of = |(site, week, part): &(u64, u64, Part)| {
                let block = week / u64::from(length);
                let stratum = if within { site * STRATA + part.stratum } else { part.stratum };
                Part { cluster: site * all + block, stratum, ..*part }
            };
            parts.iter().filter(|(_, week, _)| *week >= from).map(of).collect()
        };
        let scatters = BLOCK_WEEKS.map(|length| scatter(&blocked(length, true, 0)));
        let last = all - WEEKS;
        let of_last = |at: usize| blocked(BLOCK_WEEKS[at], false, last);
        let enough = |_, parts: &Vec<Part>| scatter(parts).clusters >= FEW;
        let (reviewed, _) = that_tell(lasting(&scatters, FEW), of_last, enough);
        let phi = taken(&reviewed);
        let (events, time) = total(&reviewed);
        let truth = |parts: &[Part]| -> f64 {
            let mean =
                |part: &Part| scale * rate(part.stratum) * part.exposure * own(part.cluster / all);
            parts.iter().map(mean).sum::<f64>() / total(parts).1
        };
        let of_first = |part: &&Part| part.cluster / all == 0;
        let first: Vec<Part> = reviewed.iter().filter(of_first).copied().collect();
        let rest: Vec<Part> = reviewed.iter().filter(|part| !of_first(part)).copied().collect();
        // As the measure does: the row's own scatter where it has enough blocks, else the fleet's.
        let found = scatter(&first);
        let own_phi = found.widened(LEVEL).filter(|_| found.clusters >= FEW).unwrap_or(phi);
        let ((d1, t1), (d0, t0)) = (total(&first), total(&rest));
        let both = scatter_of_ratio((d1, own_phi), (d0, phi));
        let ratio = rate_ratio_scaled(d1, t1, d0, t0, both, LEVEL);
        let weekly = taken(&blocked(1, false, last));
        vec![
            covered(&garwood_dispersed(events, time, phi, LEVEL), truth(&reviewed)),
            covered(&garwood_dispersed(d1, t1, own_phi, LEVEL), truth(&first)),
            covered(&ratio.ratio, truth(&first) / truth(&rest)).filter(|_| d1 + d0 > 0),
            covered(&garwood_dispersed(events, time, weekly, LEVEL), truth(&reviewed)),
        ]
    })
    .costly()
}

/// The first site against the others; its true ratio is that of the mixes of both.
fn against_the_rest(by_site: &[Vec<Part>], fleet: f64) -> Scores {
    let (first, rest) = (&by_site[0], by_site[1..].concat());
    let ((d1, t1), (d0, t0)) = (total(first), total(&rest));
    let mean = |parts: &[Part]| parts.iter().map(|p| p.exposure * rate(p.stratum)).sum::<f64>();
    let own = scatter(first).widened(LEVEL).unwrap_or(fleet);
    let phi = scatter_of_ratio((d1, own), (d0, fleet));
    // Exposures that make the truth 1.
    let (t1, t0) = (t1 * (mean(first) / t1), t0 * (mean(&rest) / t0));
    let ratio = rate_ratio_scaled(d1, t1, d0, t0, phi, LEVEL);
    let known = d1 + d0 > 0;
    vec![covered(&ratio.ratio, 1.0).filter(|_| known), alarm(ratio.p <= 0.05).filter(|_| known)]
}

/// Edges of the bands after a mating, days, and the share of the hazard in each.
const EDGES: [f64; 4] = [0.0, 7.0, 30.0, 90.0];
const EARLY: [f64; 3] = [0.4, 0.3, 0.3];

/// Site-weeks of 25 matings that share a multiplier, each mating watched for 90 days or less.
fn by_horizon(clusters: u64, hazard: f64, variance: f64) -> Setting {
    let words =
        format!("{clusters} site-weeks; hazard {hazard}; variance between site-weeks {variance}");
    let method = "cumulative hazard; Fay-Feuer over scatter of site-weeks";
    let claims = vec![Claim::covers("5.4", method, &words)];
    Setting::new(claims, move |draw| {
        let mut parts: Vec<Part> = Vec::new();
        for cluster in 0..clusters {
            let shared = frailty(draw, variance).max(1e-12);
            let mut own = [0, 1, 2].map(|stratum| Part { cluster, stratum, ..Part::default() });
            for _ in 0..25 {
                let end = (180.0 * draw.unit()).min(90.0);
                for (band, part) in own.iter_mut().enumerate() {
                    let width = EDGES[band + 1] - EDGES[band];
                    let until = width.min(end - EDGES[band]);
                    if until <= 0.0 {
                        break;
                    }
                    let wait = draw.wait() * width / (hazard * EARLY[band] * shared);
                    part.exposure += wait.min(until);
                    if wait < until {
                        part.events += 1;
                        break;
                    }
                }
            }
            parts.extend(own);
        }
        let band = |number: usize| {
            let own: Vec<Part> =
                parts.iter().filter(|part| part.stratum == number as u64).copied().collect();
            let (events, exposure) = total(&own);
            Band { width: EDGES[number + 1] - EDGES[number], events, exposure }
        };
        let bands = [0, 1, 2].map(band);
        vec![covered(&cumulative_hazard_dispersed(&bands, taken(&parts), LEVEL), hazard)]
    })
    .costly()
    .quick(if clusters == 26 { 200 } else { 0 })
}

/// Quarters of growing exposure, whose counts vary `phi` times as much as Poisson ones.
fn trend(quarters: u32, expected: f64, growth: f64, phi: f64) -> Setting {
    let words = format!(
        "{quarters} quarters; {expected} events expected; growth {growth}; variance over mean {phi}"
    );
    let mut claims = vec![Claim::covers("5.4", "growth from counts; profile likelihood", &words)];
    if growth == 1.0 {
        claims.push(Claim::alarms("5.4", "Laplace test of counts p <= 0.05", &words, 0.05));
    }
    let exposure = |quarter: u32| 1.0 + f64::from(quarter) / 4.0;
    let whole: f64 = (0..quarters).map(exposure).sum();
    Setting::new(claims, move |draw| {
        let mut gathered = 0.0;
        let spells: Vec<Spell> = (0..quarters)
            .map(|quarter| {
                let from: f64 = gathered / whole;
                gathered += exposure(quarter);
                let mean = expected * ((gathered / whole).powf(growth) - from.powf(growth));
                let own = mean * frailty(draw, (phi - 1.0) / mean);
                Spell { events: poisson(draw, own), exposure: exposure(quarter) }
            })
            .collect();
        // As the measure does: the scatter of site-weeks, or that about the trend where it is more.
        let plain = grouped_power_law(&spells, phi, LEVEL);
        let about = plain.value.and_then(|growth| scatter_about(&spells, growth));
        let phi = about.map_or(phi, |about| about.max(phi));
        let fit = grouped_power_law(&spells, phi, LEVEL);
        let test = grouped_laplace(&spells, phi);
        vec![
            covered(&fit, growth).filter(|_| fit.events > 0),
            test.and_then(|test| alarm(test.p <= 0.05)),
        ]
    })
    .quick(if phi == 1.0 { 300 } else { 0 })
}

/// Days of the horizon.
const HORIZON: f64 = 90.0;

/// Site-weeks of 25 matings, all of whose faults within their follow-up (45 to 90 days) count; the
/// mean at 45 days.
fn recurrences(clusters: u64, mean: f64, variance: f64) -> Setting {
    let words = format!(
        "{clusters} site-weeks; {mean} events each; variance between site-weeks {variance}"
    );
    let method = "mean cumulative function of counts; log Wald over scatter of site-weeks";
    let claims = vec![Claim::covers("5.4", method, &words)];
    Setting::new(claims, move |draw| {
        let mut histories = GroupedHistories::default();
        let mut parts: Vec<Part> = Vec::new();
        for cluster in 0..clusters {
            let shared = frailty(draw, variance).max(1e-12);
            let mut part = Part { cluster, stratum: 0, events: 0, exposure: 0.0 };
            for _ in 0..25 {
                let end = HORIZON * (0.5 + 0.5 * draw.unit());
                let pace = HORIZON / 2.0 / (mean * shared);
                let mut at = draw.wait() * pace;
                let mut days = Vec::new();
                while at < end {
                    days.push(at as u32);
                    at += draw.wait() * pace;
                }
                histories.ended.push((end as u32, 1));
                for day in &days {
                    histories.events.push((*day, end as u32, 1));
                    histories.pairs.extend(days.iter().map(|other| (*day, *other, 1)));
                }
                part.events += u64::from(!days.is_empty());
                part.exposure += days.first().map_or(end, |day| f64::from(*day) + 0.5);
            }
            parts.push(part);
        }
        let curve = grouped_mean_cumulative(&histories, taken(&parts), LEVEL);
        let reached = curve.iter().rev().find(|point| point.age < HORIZON / 2.0);
        vec![reached.and_then(|point| covered(&point.mean, mean))]
    })
    .costly()
}

/// Times to restore with a long tail, to the minute.
fn quartiles(n: u64) -> Setting {
    let words = format!("{n} values; log-normal");
    let claims = ["lower quartile", "median", "upper quartile"]
        .map(|name| Claim::covers("5.4", &format!("{name}; order statistics"), &words))
        .to_vec();
    Setting::new(claims, move |draw| {
        let values: Vec<(f64, u64)> =
            (0..n).map(|_| ((240.0 * normal(draw).exp()).round(), 1)).collect();
        let deviate = 0.674_489_750_196_081_7_f64;
        [(0.25, -deviate), (0.5, 0.0), (0.75, deviate)]
            .map(|(share, z)| {
                let truth = (240.0 * z.exp()).round();
                covered(&order_quantile(&values, share, LEVEL), truth)
            })
            .to_vec()
    })
    .quick(200)
}
