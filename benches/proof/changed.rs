//! 5.9: changes of shares and rates between two quarters, and the list that they go into.

use super::chance::{binomial, frailty, poisson, share, uneven};
use super::score::{Claim, Score, Setting, alarm, covered};
use motetrail::stats::benjamini_hochberg;
use motetrail::stats::clustered::ClusterSums;
use motetrail::stats::rate::RateRatio;
use motetrail::stats::rate_change::Exposed;
use motetrail::stats::rate_change::{CountScatter, rate_change};
use motetrail::stats::share_change::{Sample, ShareChange, share_change};
use motetrail::synth::draw::Draw;

const LEVEL: f64 = 0.95;
/// Comparisons of one list.
const LIST: usize = 20;
/// Weeks of a quarter.
const WEEKS: usize = 13;
/// Fewest events that either side of a tested comparison expects.
const LEAST_EXPECTED: f64 = 5.0;

pub fn settings() -> Vec<Setting> {
    let mut all = Vec::new();
    for (sizes, correlation, p) in [
        ([8, 8], 0.05, 0.8),
        ([30, 30], 0.05, 0.8),
        ([30, 30], 0.2, 0.02),
        ([30, 30], 0.3, 0.02),
        ([100, 100], 0.3, 0.01),
        ([1000, 1000], 0.3, 0.005),
        ([200, 200], 0.2, 0.02),
        ([200, 30], 0.2, 0.1),
        ([200, 200], 0.0, 0.85),
    ] {
        all.push(shares(sizes, correlation, [p, p]));
    }
    all.push(shares([30, 30], 0.05, [0.8, 0.7]));
    all.push(shares([200, 200], 0.2, [0.02, 0.05]));
    for (sites, mean, variance) in
        [(1, 0.3, 1.5), (1, 2.0, 0.5), (10, 0.05, 0.0), (10, 0.05, 6.0), (10, 1.0, 1.0)]
    {
        all.push(rates(sites, mean, variance, 1.0));
    }
    all.push(rates(1, 2.0, 0.5, 2.0));
    all.push(rates(10, 0.3, 1.0, 2.0));
    all.push(overlapping());
    all.push(planted(6));
    all
}

/// A quarter's work orders of unequal size, 1 to about 30 looks, whose chances differ.
fn work_orders(draw: &mut Draw, clusters: u32, correlation: f64, p: f64) -> ClusterSums {
    let mut sums = ClusterSums::default();
    for _ in 0..clusters {
        let n = uneven(draw, 6.0);
        let own = share(draw, p, correlation);
        sums.add(n, binomial(draw, n, own));
    }
    sums
}

fn share_of(now: &ClusterSums, before: &ClusterSums) -> ShareChange {
    share_change(&Sample::of(now), &Sample::of(before), LEVEL)
}

fn any_listed(p_values: &[f64]) -> Option<Score> {
    alarm(benjamini_hochberg(p_values).iter().any(|q| *q <= 0.05))
}

/// Shares before and now; a list is of comparisons alike in everything.
fn shares(sizes: [u32; 2], correlation: f64, [was, is]: [f64; 2]) -> Setting {
    let [now, before] = sizes;
    let words =
        format!("{now} and {before} work orders; correlation {correlation}; p {was} then {is}");
    let mut claims =
        vec![Claim::covers("5.9", "difference; hybrid of exact limits on effective sizes", &words)];
    let is_null = was == is;
    if is_null {
        let listed = format!("difference; {LIST} inverted intervals; any q <= 0.05");
        claims.push(Claim::alarms("5.9", "difference; inverted interval p <= 0.05", &words, 0.05));
        claims.push(Claim::alarms("5.9", &listed, &words, 0.05));
    }
    let quick = if correlation <= 0.05 { 100 } else { 0 };
    Setting::new(claims, move |draw| {
        let mut pair = |_| {
            let older = work_orders(draw, before, correlation, was);
            share_of(&work_orders(draw, now, correlation, is), &older)
        };
        let changes: Vec<ShareChange> =
            (0..if is_null { LIST } else { 1 }).map(&mut pair).collect();
        let p_values: Vec<f64> = changes.iter().map(|change| change.p).collect();
        vec![
            covered(&changes[0].difference, is - was),
            alarm(p_values[0] <= 0.05),
            any_listed(&p_values),
        ]
    })
    .costly()
    .quick(quick)
}

/// Site-weeks of one quarter: events and scatter. Rates of the sites differ; a site-week's own rate
/// varies about its site's.
fn quarter(draw: &mut Draw, sites: &[f64], mean: f64, variance: f64) -> (u64, CountScatter) {
    let mut site = |rate: &f64| -> Vec<Exposed> {
        let week = |_| Exposed {
            events: {
                let own = mean * rate * frailty(draw, variance);
                poisson(draw, own)
            },
            exposure: 1.0,
        };
        (0..WEEKS).map(week).collect()
    };
    let strata: Vec<Vec<Exposed>> = sites.iter().map(&mut site).collect();
    let events = strata.iter().flatten().map(|unit| unit.events).sum();
    (events, CountScatter::of(&strata))
}

fn rate_of(now: (u64, CountScatter), before: (u64, CountScatter), weeks: f64) -> RateRatio {
    rate_change((now.0, weeks), (before.0, weeks), &now.1.with(before.1), LEVEL)
}

fn rates(sites: usize, mean: f64, variance: f64, ratio: f64) -> Setting {
    let words = format!(
        "{sites} sites; {mean} events a site-week; variance of rates in weeks {variance}; ratio {ratio}"
    );
    let mut claims = vec![Claim::covers("5.9", "ratio; exact conditional over scatter", &words)];
    let is_null = ratio == 1.0;
    if is_null {
        let listed = format!("ratio; {LIST} inverted intervals; any q <= 0.05");
        claims.push(Claim::alarms("5.9", "ratio; inverted interval p <= 0.05", &words, 0.05));
        claims.push(Claim::alarms("5.9", &listed, &words, 0.05));
    }
    Setting::new(claims, move |draw| {
        let weeks = (sites * WEEKS) as f64;
        let mut pair = |_| {
            let spread = if sites > 1 { 0.5 } else { 0.0 };
            let own: Vec<f64> = (0..sites).map(|_| frailty(draw, spread)).collect();
            let before = quarter(draw, &own, mean, variance);
            let now = quarter(draw, &own, mean * ratio, variance);
            let tested = (now.0 + before.0) as f64 >= 2.0 * LEAST_EXPECTED;
            tested.then(|| rate_of(now, before, weeks))
        };
        let changes: Vec<Option<RateRatio>> =
            (0..if is_null { LIST } else { 1 }).map(&mut pair).collect();
        let p_values: Vec<f64> = changes.iter().flatten().map(|change| change.p).collect();
        vec![
            changes[0].as_ref().and_then(|change| covered(&change.ratio, ratio)),
            changes[0].as_ref().and_then(|change| alarm(change.p <= 0.05)),
            any_listed(&p_values),
        ]
    })
    .costly()
    .quick(if is_null && variance > 0.0 && sites == 1 { 60 } else { 0 })
}

/// A list as a review makes it: twelve sites of two stages, their sums by site, by stage and in all,
/// by first pass and by faults. Nothing changed.
fn overlapping() -> Setting {
    let words = "12 sites; 2 stages; nothing changed";
    let listed = "list of overlapping comparisons; any q <= 0.05";
    Setting::new(vec![Claim::alarms("5.9", listed, words, 0.05)], |draw| {
        let mut p_values = Vec::new();
        let mut all = [[ClusterSums::default(); 2]; 3];
        for site in 0..12 {
            let mut own = [ClusterSums::default(); 2];
            for stage in 0..2 {
                let p = 0.75 + 0.1 * stage as f64 + 0.005 * f64::from(site);
                let cell = [(); 2].map(|()| work_orders(draw, 10 + 4 * site, 0.1, p));
                p_values.push(share_of(&cell[0], &cell[1]).p);
                for (time, sums) in cell.into_iter().enumerate() {
                    own[time] = own[time].merge(sums);
                    all[stage][time] = all[stage][time].merge(sums);
                    all[2][time] = all[2][time].merge(sums);
                }
            }
            p_values.push(share_of(&own[0], &own[1]).p);
        }
        p_values.extend(all.iter().map(|sums| share_of(&sums[0], &sums[1]).p));
        let mut sums = [(0, CountScatter::default()); 2];
        for site in 0..12 {
            let own = [(); 2].map(|()| quarter(draw, &[1.0], 0.2 + 0.1 * f64::from(site), 0.5));
            for (time, cell) in own.into_iter().enumerate() {
                sums[time] = (sums[time].0 + cell.0, sums[time].1.with(cell.1));
            }
            if (own[0].0 + own[1].0) as f64 >= 2.0 * LEAST_EXPECTED {
                p_values.push(rate_of(own[0], own[1], WEEKS as f64).p);
            }
        }
        p_values.push(rate_of(sums[0], sums[1], 12.0 * WEEKS as f64).p);
        vec![any_listed(&p_values)]
    })
    .costly()
}

/// Some of the comparisons changed: the share of false ones among those listed, and of the changed
/// ones that are listed.
fn planted(changed: usize) -> Setting {
    let words = format!(
        "{LIST} comparisons of 60 work orders; correlation 0.1; {changed} fell from 0.85 to 0.7"
    );
    let claims = vec![
        Claim::alarms("5.9", "list; share of false ones among those listed", &words, 0.05),
        Claim::stated("5.9", "list; share of the changed ones that are listed", &words),
    ];
    Setting::new(claims, move |draw| {
        let mut pair = |place: usize| {
            let p = if place < changed { 0.7 } else { 0.85 };
            let before = work_orders(draw, 60, 0.1, 0.85);
            share_of(&work_orders(draw, 60, 0.1, p), &before).p
        };
        let p_values: Vec<f64> = (0..LIST).map(&mut pair).collect();
        let q = benjamini_hochberg(&p_values);
        let listed =
            |from: usize, to: usize| q[from..to].iter().filter(|q| **q <= 0.05).count() as f64;
        let (right, wrong) = (listed(0, changed), listed(changed, LIST));
        let score = |share: f64| Some(Score { share, width: None });
        vec![score(wrong / (right + wrong).max(1.0)), score(right / changed as f64)]
    })
    .costly()
}
