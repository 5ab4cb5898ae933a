//! 5.7: lists of carriers of whole invented fleets whose sites differ and whose work orders are alike inside.

use super::chance::{binomial, frailty, share};
use super::score::{Claim, Score, Setting, alarm, covered};
use motetrail::stats::benjamini_hochberg;
use motetrail::stats::cluster_scatter::{ScatterCell, ScatterPair, cluster_scatter};
use motetrail::stats::dispersed_tail::dispersed_tail;
use motetrail::stats::hypergeometric::{DrawCell, draw_tail};
use motetrail::stats::{against_expected, garwood};
use motetrail::synth::draw::Draw;
use std::collections::BTreeMap;

const LEVEL: f64 = 0.95;
const SITES: usize = 6;
/// Cells of a site: its stages and families.
const STRATA: usize = 3;
const PARTIES: usize = 60;
/// Trials of a work order.
const ORDER: usize = 5;
/// A carrier soils what it touches with this probability, beyond the dirt that is there anyway: what
/// takes 0.05 to 0.40.
const CARRIED: f64 = 0.35 / 0.95;

/// What is invented.
#[derive(Clone, Copy)]
struct Plan {
    /// Trials of a party, about.
    trials: usize,
    /// Mean share dirty.
    dirty: f64,
    /// Of results inside a work order.
    correlation: f64,
    /// Parties share work orders, as leads do; else each has its own, as crews do.
    mixed: bool,
    /// Carriers.
    planted: usize,
}

impl Plan {
    fn words(&self) -> String {
        let Plan { trials, dirty, correlation, mixed, planted } = self;
        let orders = if *mixed { "shared" } else { "own" };
        format!(
            "{PARTIES} parties at {SITES} sites that differ; {trials} trials; dirty {dirty}; {orders} work orders; \
             correlation {correlation}; {planted} planted"
        )
    }
}

pub fn settings() -> Vec<Setting> {
    let mut all = Vec::new();
    for (trials, dirty, correlation, mixed) in [
        (30, 0.15, 0.0, true),
        (30, 0.15, 0.1, true),
        (30, 0.15, 0.1, false),
        (30, 0.15, 0.3, false),
        (60, 0.03, 0.1, false),
        (200, 0.15, 0.1, false),
    ] {
        all.push(nothing_planted(Plan { trials, dirty, correlation, mixed, planted: 0 }));
    }
    for (trials, dirty, correlation, mixed) in [
        (30, 0.05, 0.0, true),
        (30, 0.05, 0.1, true),
        (60, 0.05, 0.1, true),
        (60, 0.15, 0.1, false),
    ] {
        all.push(planted(Plan { trials, dirty, correlation, mixed, planted: 3 }));
    }
    all.push(enumerated());
    for (trials, others) in [(30, 30), (30, 60), (30, 600), (200, 400)] {
        for dirty in [0.05, 0.15] {
            all.push(against_others(trials, others, dirty));
        }
    }
    all
}

/// One party, no dirtier than the others, in two cells whose shares differ: binomial results, over what the others' lead one
/// to expect.
fn against_others(trials: u64, others: u64, dirty: f64) -> Setting {
    let words = format!(
        "{trials} trials of a party; {others} of the others; dirty {dirty} and thrice that"
    );
    let claims = vec![
        Claim::covers("5.7", "ratio against the others; exact on effective counts", &words),
        Claim::stated("5.7", "ratio against the others; what is expected taken as known", &words),
    ];
    Setting::new(claims, move |draw| {
        let (mut found, mut expected, mut variance) = (0, 0.0, 0.0);
        for share in [dirty, 3.0 * dirty] {
            found += binomial(draw, trials / 2, share);
            let times = (trials / 2) as f64 / (others / 2) as f64;
            let theirs = binomial(draw, others / 2, share) as f64;
            expected += times * theirs;
            variance += times * times * theirs;
        }
        if expected <= 0.0 {
            return vec![None; 2];
        }
        vec![
            covered(&against_expected(found, (expected, variance), 1.0, LEVEL), 1.0),
            covered(&garwood(found, expected, LEVEL), 1.0),
        ]
    })
    .quick(if others == 60 { 400 } else { 0 })
}

/// Trials of an invented fleet.
#[derive(Default)]
struct Fleet {
    /// Trials and dirty ones.
    cells: Vec<(u64, u64)>,
    /// By party and cell.
    parties: Vec<BTreeMap<usize, (u64, u64)>>,
    squares: f64,
    crossed: Vec<f64>,
    products: Vec<f64>,
}

fn invent(draw: &mut Draw, plan: &Plan) -> Fleet {
    let count = SITES * STRATA;
    let mut fleet = Fleet {
        cells: vec![(0, 0); count],
        parties: vec![BTreeMap::new(); PARTIES],
        squares: 0.0,
        crossed: vec![0.0; count],
        products: vec![0.0; count],
    };
    let levels: Vec<f64> = (0..SITES).map(|_| plan.dirty * frailty(draw, 0.3)).collect();
    let orders = PARTIES * plan.trials / ORDER;
    for order in 0..orders {
        let owner = order % PARTIES;
        let (site, stratum) = (owner % SITES, draw.index(STRATA));
        let cell = site * STRATA + stratum;
        let level = (levels[site] * (0.6 + 0.4 * stratum as f64)).clamp(0.001, 0.6);
        let own = share(draw, level, plan.correlation);
        let mut found = 0;
        for _ in 0..ORDER {
            let at_site = PARTIES / SITES;
            let party = if plan.mixed { site + SITES * draw.index(at_site) } else { owner };
            let carried = if party < plan.planted { CARRIED } else { 0.0 };
            let is_dirty = draw.chance(own) || draw.chance(carried);
            let trial = fleet.parties[party].entry(cell).or_default();
            trial.0 += 1;
            trial.1 += u64::from(is_dirty);
            found += u64::from(is_dirty);
        }
        fleet.cells[cell].0 += ORDER as u64;
        fleet.cells[cell].1 += found;
        fleet.squares += (found * found) as f64;
        fleet.crossed[cell] += found as f64 * ORDER as f64;
        fleet.products[cell] += (ORDER * ORDER) as f64;
    }
    fleet
}

/// Which parties are listed: q values of at most 0.05 under both tests.
fn listed(fleet: &Fleet) -> Vec<bool> {
    let cell = |(at, (total, marked)): (usize, &(u64, u64))| ScatterCell {
        total: *total as f64,
        marked: *marked as f64,
        crossed: fleet.crossed[at],
    };
    let cells: Vec<ScatterCell> = fleet.cells.iter().enumerate().map(cell).collect();
    let pair = |(at, product): (usize, &f64)| ScatterPair { cells: [at, at], product: *product };
    let pairs: Vec<ScatterPair> = fleet.products.iter().enumerate().map(pair).collect();
    let phi = cluster_scatter(fleet.squares, &cells, &pairs).phi;
    let tails = |own: &BTreeMap<usize, (u64, u64)>| {
        let cell = |(at, (drawn, _)): (&usize, &(u64, u64))| {
            let (total, marked) = fleet.cells[*at];
            DrawCell { total, marked, drawn: *drawn }
        };
        let cells: Vec<DrawCell> = own.iter().map(cell).collect();
        let dirty = own.values().map(|trial| trial.1).sum();
        let exact = draw_tail(&cells, dirty);
        (exact.p, dispersed_tail(dirty, exact.mean, exact.variance, exact.third, phi))
    };
    let (exact, dispersed): (Vec<f64>, Vec<f64>) = fleet.parties.iter().map(tails).unzip();
    let (q, r) = (benjamini_hochberg(&exact), benjamini_hochberg(&dispersed));
    q.iter().zip(&r).map(|(q, r)| *q <= 0.05 && *r <= 0.05).collect()
}

fn nothing_planted(plan: Plan) -> Setting {
    let claim =
        Claim::alarms("5.7", "carriers listed under both tests; any listed", &plan.words(), 0.05);
    Setting::new(vec![claim], move |draw| vec![alarm(listed(&invent(draw, &plan)).contains(&true))])
        .costly()
        .quick(200)
}

fn planted(plan: Plan) -> Setting {
    let words = plan.words();
    let claims = vec![
        Claim::alarms("5.7", "carriers listed under both tests; share that is false", &words, 0.05),
        Claim::stated("5.7", "carriers listed under both tests; share of the planted", &words),
    ];
    Setting::new(claims, move |draw| {
        let listed = listed(&invent(draw, &plan));
        let all = listed.iter().filter(|listed| **listed).count();
        let found = listed[..plan.planted].iter().filter(|listed| **listed).count();
        let of = |part: usize, all: usize| {
            Some(Score { share: part as f64 / all.max(1) as f64, width: None })
        };
        vec![of(all - found, all), of(found, plan.planted)]
    })
    .costly()
    .quick(200)
}

/// Every way in which the marked items of small cells can be drawn, counted one by one.
fn enumerated() -> Setting {
    let words = "1 to 4 cells of up to 12 items; every observed number";
    let claim =
        Claim::alarms("5.7", "exact tail; more than 1e-9 off the one counted out", words, 0.0);
    Setting::new(vec![claim], |draw| {
        let cells: Vec<DrawCell> = (0..=draw.index(4))
            .map(|_| {
                let total = 1 + draw.index(12);
                let (marked, drawn) = (draw.index(total + 1), draw.index(total + 1));
                DrawCell { total: total as u64, marked: marked as u64, drawn: drawn as u64 }
            })
            .collect();
        let all: u64 = cells.iter().map(|cell| cell.drawn).sum();
        let off = |observed: u64| {
            let (got, want) = (draw_tail(&cells, observed).p, counted_out(&cells, observed));
            (got - want).abs() > 1e-9 * want.max(1e-6)
        };
        vec![alarm((0..=all).any(off))]
    })
    .costly()
    .quick(200)
}

/// Subsets of items as bit patterns: which items of a cell the party drew.
fn counted_out(cells: &[DrawCell], observed: u64) -> f64 {
    let mut points = vec![1.0];
    for cell in cells {
        let mut ways = vec![0.0_f64; cell.drawn as usize + 1];
        for drawn in 0_u32..1 << cell.total {
            if u64::from(drawn.count_ones()) == cell.drawn {
                // The first items are the marked ones.
                let marked = drawn & ((1 << cell.marked) - 1);
                ways[marked.count_ones() as usize] += 1.0;
            }
        }
        let all: f64 = ways.iter().sum();
        let mut next = vec![0.0; points.len() + ways.len() - 1];
        for (sum, p) in points.iter().enumerate() {
            for (more, number) in ways.iter().enumerate() {
                next[sum + more] += p * number / all;
            }
        }
        points = next;
    }
    points.iter().skip(observed as usize).sum()
}
