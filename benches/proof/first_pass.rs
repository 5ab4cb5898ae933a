//! 5.1: clustered proportions, those near 1, and the ranking of sites.

use super::chance::{binomial, normal, share, uneven};
use super::score::{Claim, Setting, alarm, alarms, covered, covered_on_average, leaves_out};
use motetrail::stats::Rests;
use motetrail::stats::clustered::{ClusterSums, effective_share};
use motetrail::stats::proportion::wilson;
use motetrail::stats::ranked::ranked;
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
    for luck in [Luck::Beta, Luck::BadJobs] {
        for clusters in [30, 100, 200, 1000] {
            for (correlation, dirty) in
                [(0.2, 0.02), (0.2, 0.01), (0.2, 0.005), (0.3, 0.02), (0.3, 0.01), (0.3, 0.005)]
            {
                all.push(rare(luck, clusters, correlation, dirty));
            }
        }
    }
    for sites in [12, 60, 200] {
        all.push(ranking(sites, 40, 0.85, 0.0, false));
        all.push(ranking(sites, 40, 0.85, 0.04, false));
        all.push(ranking(sites, 40, 0.97, 0.01, false));
        all.push(ranking(sites, 40, 0.85, 0.02, true));
    }
    all.push(ranking(12, 200, 0.85, 0.04, false));
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
        Claim::covers("5.1", "Clopper-Pearson on effective size", &words),
        Claim::covers("5.1", "visits not routine; Wilson on counts", &words),
    ];
    let quick = if correlation <= 0.05 && p > 0.1 { 400 } else { 0 };
    Setting::new(claims, move |draw| {
        let sums = work_orders(draw, clusters, correlation, p);
        let plain = wilson(sums.events as f64, sums.n as f64, LEVEL);
        vec![covered(&effective_share(&sums, LEVEL), p), covered(&plain, p)]
    })
    .quick(quick)
}

/// How the work orders of a fleet differ.
#[derive(Clone, Copy, Debug)]
enum Luck {
    /// Each has a share of its own.
    Beta,
    /// Some are done badly, and nothing is dirty in the others.
    BadJobs,
}

/// Clean shares near 1: each limit may miss the truth on its side in 3.5 %.
fn rare(luck: Luck, clusters: u32, correlation: f64, dirty: f64) -> Setting {
    let of = match luck {
        Luck::Beta => "shares beta",
        Luck::BadJobs => "some jobs bad",
    };
    let words = format!("{clusters} work orders; correlation {correlation}; {dirty} dirty; {of}");
    let method = "share clean near 1; Clopper-Pearson on effective size";
    let claims = vec![
        Claim::covers("5.1", method, &words),
        Claim::alarms("5.1", &format!("{method}; low limit above the truth"), &words, 0.035),
        Claim::alarms("5.1", &format!("{method}; high limit below the truth"), &words, 0.035),
    ];
    Setting::new(claims, move |draw| {
        let mut sums = ClusterSums::default();
        // Of jobs that are bad or not: the share in bad ones that gives this mean and correlation.
        let in_bad = dirty + correlation * (1.0 - dirty);
        for _ in 0..clusters {
            let n = uneven(draw, 6.0);
            let own = match luck {
                Luck::Beta => share(draw, dirty, correlation),
                Luck::BadJobs if draw.chance(dirty / in_bad) => in_bad,
                Luck::BadJobs => 0.0,
            };
            sums.add(n, n - binomial(draw, n, own));
        }
        let (estimate, truth) = (effective_share(&sums, LEVEL), 1.0 - dirty);
        vec![
            covered(&estimate, truth),
            alarm(estimate.low.is_some_and(|low| low > truth)),
            alarm(estimate.high.is_some_and(|high| high < truth)),
        ]
    })
    .quick(if clusters <= 200 && dirty < 0.02 { 200 } else { 0 })
}

/// Work orders of sites whose shares differ by no more than `between` says, which may be nothing; in one of
/// them, where `apart` says so, a fifth as many again fail.
fn ranking(sites: u32, orders: u32, mean: f64, between: f64, apart: bool) -> Setting {
    let and = if apart { "; one 0.2 below" } else { "" };
    let words = format!(
        "{sites} sites of {orders} work orders; correlation 0.2; p {mean}; between sites {between}{and}"
    );
    let method = "sites ranked";
    let of = |what: &str| format!("{method}; {what}");
    let mut claims = vec![
        Claim::covers("5.1", &of("mean over sites"), &words),
        Claim::covers("5.1", &of("the site that is truly lowest"), &words),
        Claim::covers("5.1", &of("the site ranked lowest"), &words),
    ];
    if between <= 0.0 && !apart {
        let listed = of("sites whose interval leaves out the fleet's share");
        claims.push(Claim::alarms("5.1", &listed, &words, 0.05));
    }
    Setting::new(claims, move |draw| {
        // Normal about the mean, where the fit takes them to be beta.
        let mut own = || (mean + between * normal(draw)).clamp(0.0, 1.0);
        let mut truths: Vec<f64> = (0..sites).map(|_| own()).collect();
        if apart {
            truths[0] = mean - 0.2;
        }
        let groups: Vec<ClusterSums> =
            truths.iter().map(|p| work_orders(draw, orders, 0.2, *p)).collect();
        let found = ranked(&groups, &Rests::among(&groups), LEVEL);
        let pairs = || found.iter().map(|site| &site.share).zip(truths.iter().copied());
        let least = |of: &dyn Fn(usize) -> f64| {
            (0..truths.len()).min_by(|a, b| of(*a).total_cmp(&of(*b))).unwrap_or(0)
        };
        let truly = least(&|at| truths[at]);
        let by_rank =
            |at: usize| found[at].standing.map_or(f64::INFINITY, |standing| standing.expected_rank);
        let first = least(&by_rank);
        vec![
            covered_on_average(pairs()),
            covered(&found[truly].share, truths[truly]),
            covered(&found[first].share, truths[first]),
            alarms(found.iter().map(|site| leaves_out(&site.share, mean))),
        ]
    })
    .costly()
}
