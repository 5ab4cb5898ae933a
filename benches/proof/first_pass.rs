//! 5.1 and 5.3: clustered proportions, their difference, and the ranking of sites.

use super::chance::{binomial, share, uneven};
use super::score::{Claim, Score, Setting, alarms, covered, covered_on_average, leaves_out};
use motetrail::stats::beta_binomial::{Share, beta_binomial};
use motetrail::stats::clustered::{
    ClusterSums, design_effect, effective_wilson, widened_design_effect,
};
use motetrail::stats::difference::newcombe;
use motetrail::stats::proportion::wilson;
use motetrail::synth::draw::Draw;

const LEVEL: f64 = 0.95;

pub fn settings() -> Vec<Setting> {
    let mut all = Vec::new();
    for clusters in [8, 30, 200] {
        for correlation in [0.0, 0.05, 0.2] {
            for p in [0.02, 0.2, 0.8] {
                all.push(proportion(clusters, correlation, p));
            }
        }
    }
    for (clusters, correlation, p) in [(8, 0.05, 0.8), (30, 0.05, 0.8), (30, 0.2, 0.02)] {
        all.push(difference(clusters, correlation, p));
    }
    for sites in [12, 60, 200] {
        for (looks, mean, correlation) in
            [(15.0, 0.85, 0.02), (150.0, 0.85, 0.02), (60.0, 0.02, 0.01), (60.0, 0.85, 0.0)]
        {
            all.push(ranking(sites, looks, mean, correlation));
        }
    }
    all
}

/// Work orders of unequal size, 1 to about 30 looks, whose chances differ.
fn work_orders(draw: &mut Draw, clusters: u32, correlation: f64, p: f64) -> ClusterSums {
    let mut sums = ClusterSums::default();
    for _ in 0..clusters {
        let n = uneven(draw, 6.0);
        let own = share(draw, p, correlation);
        sums.add(n, binomial(draw, n, own));
    }
    sums
}

fn proportion(clusters: u32, correlation: f64, p: f64) -> Setting {
    let words = format!("{clusters} work orders; correlation {correlation}; p {p}");
    let claims = vec![
        Claim::covers("5.1", "Wilson on effective size", &words),
        Claim::covers("5.3", "Wilson on counts", &words),
    ];
    let quick = if correlation <= 0.05 && p > 0.1 { 400 } else { 0 };
    Setting::new(claims, move |draw| {
        let sums = work_orders(draw, clusters, correlation, p);
        let plain = wilson(sums.events as f64, sums.n as f64, LEVEL);
        vec![covered(&effective_wilson(&sums, LEVEL), p), covered(&plain, p)]
    })
    .quick(quick)
}

/// Two groups of one true share: interval of the difference.
fn difference(clusters: u32, correlation: f64, p: f64) -> Setting {
    let words = format!("2 x {clusters} work orders; correlation {correlation}; p {p}");
    let claims = vec![
        Claim::covers("5.9", "Newcombe over the design effect", &words),
        Claim::covers("5.9", "Newcombe over the widened design effect", &words),
    ];
    Setting::new(claims, move |draw| {
        let mut pair = |_| [(); 2].map(|()| work_orders(draw, clusters, correlation, p));
        // More pairs are drawn than are tried: the stream of tables is that of the committed results.
        let pairs: Vec<[ClusterSums; 2]> = (0..20).map(&mut pair).collect();
        let of = |deff: fn(&ClusterSums) -> f64| {
            let [(a, n), (b, m)] = pairs[0].map(|sums| {
                let deff = deff(&sums);
                (sums.events as f64 / deff, sums.n as f64 / deff)
            });
            covered(&newcombe(a, n, b, m, LEVEL), 0.0)
        };
        vec![
            of(|sums| design_effect(sums).deff.max(1.0)),
            of(|sums| widened_design_effect(sums, LEVEL)),
        ]
    })
    .costly()
}

/// Sites whose shares differ by no more than `correlation` says, which may be nothing.
fn ranking(sites: u32, looks: f64, mean: f64, correlation: f64) -> Setting {
    let words = format!("{sites} sites; {looks} looks each; p {mean}; correlation {correlation}");
    let method = "beta-binomial empirical Bayes";
    let mut claims = vec![Claim::covers("5.1", &format!("{method}; mean over sites"), &words)];
    if correlation <= 0.0 {
        let listed = format!("{method}; sites whose interval leaves out the fleet's share");
        claims.push(Claim::alarms("5.1", &listed, &words, 0.05));
    }
    Setting::new(claims, move |draw| {
        let truths: Vec<f64> = (0..sites).map(|_| share(draw, mean, correlation)).collect();
        let mut site = |p: &f64| {
            let n = uneven(draw, looks);
            Share { events: binomial(draw, n, *p), n }
        };
        let groups: Vec<Share> = truths.iter().map(&mut site).collect();
        let fit = beta_binomial(&groups, LEVEL);
        let pairs = fit.shares.iter().zip(truths);
        let average: Option<Score> = covered_on_average(pairs);
        vec![average, alarms(fit.shares.iter().map(|e| leaves_out(e, mean)))]
    })
    .costly()
}
