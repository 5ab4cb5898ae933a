//! 5.12: whether something was followed by a change, where some sites began it and others did not. Invented site-months with work
//! orders that are alike, months that go together, shocks that all sites share and drifts of their own; the comparison knows none of
//! these. Fewer arrangements than the review's 4,999 are drawn.

use super::chance::normal;
use super::score::{Claim, Nominal, Setting, alarm, between};
use motetrail::stats::effects::compared::{WHOLE, WITHOUT_QUARTER};
use motetrail::stats::effects::{Compared, Doubts, Effort, Followed, Window};
use motetrail::synth::draw::Draw;

/// Most false alarms that are promised, of results without a flag.
const MOST: f64 = 0.06;
/// Least coverage of a planted effect that is promised.
const LEAST: f64 = 0.93;
/// Months followed, and the month of the start.
const MONTHS: usize = 27;
const START: usize = 16;
/// Looks of a work order.
const ORDER: f64 = 5.0;

/// Which sites begin.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Chosen {
    AtRandom,
    /// Those with the worst last quarter.
    Worst,
    /// Those whose last quarter was worst against their own months before.
    Fallen,
    /// Those with the worst last year.
    WorstYear,
}

impl Chosen {
    fn words(self) -> &'static str {
        match self {
            Chosen::AtRandom => "begun at random",
            Chosen::Worst => "begun where the last quarter was worst",
            Chosen::Fallen => "begun where the last quarter had fallen most",
            Chosen::WorstYear => "begun where the last year was worst",
        }
    }
}

/// How a fleet is invented.
#[derive(Clone, Copy, Debug)]
struct Fleet {
    sites: usize,
    begin: usize,
    chosen: Chosen,
    /// Standard deviation of a site's own drift a year, on the scale of log odds.
    drift: f64,
    /// Months between one start and the next, of three waves.
    waves: usize,
    /// What begins with the action: log odds, or the log of a rate.
    effect: f64,
}

const PLAIN: Fleet =
    Fleet { sites: 10, begin: 3, chosen: Chosen::AtRandom, drift: 0.0, waves: 0, effect: 0.0 };

/// A table with what is true of it.
struct Table {
    cells: Vec<Vec<[f64; 3]>>,
    starts: Vec<Option<usize>>,
    /// Mean change of the share at the sites that began, since.
    truth: f64,
}

/// Log odds, or log rates, of every site and month without the action, and the sites' sizes.
fn course(draw: &mut Draw, fleet: &Fleet) -> (Vec<Vec<f64>>, Vec<f64>) {
    let mut shock = 0.0;
    let shocks: Vec<f64> = (0..MONTHS)
        .map(|month| {
            shock = 0.6 * shock + 0.2 * normal(draw);
            shock + 0.15 * (month as f64 / 6.0 * std::f64::consts::PI).sin()
        })
        .collect();
    let mut sizes = Vec::new();
    let sites = (0..fleet.sites).map(|_| {
        let (level, drift) = (0.5 * normal(draw), fleet.drift * normal(draw));
        sizes.push((60.0_f64.ln() + 0.7 * normal(draw)).exp().max(4.0));
        let mut own = 0.1 * normal(draw);
        (0..MONTHS)
            .map(|month| {
                own = 0.5 * own + 0.1 * 0.75_f64.sqrt() * normal(draw);
                level + shocks[month] + own + drift * (month as f64 - START as f64) / 12.0
            })
            .collect()
    });
    let sites: Vec<Vec<f64>> = sites.collect();
    (sites, sizes)
}

/// Looks that pass, of so many, by work orders that differ.
fn passing(draw: &mut Draw, looks: f64, odds: f64) -> f64 {
    let (mut left, mut passed) = (looks, 0.0);
    while left > 0.0 {
        let of_order = left.min(ORDER);
        let share = 1.0 / (1.0 + (-(odds + 0.6 * normal(draw))).exp());
        passed += (0..of_order as u32).filter(|_| draw.chance(share)).count() as f64;
        left -= of_order;
    }
    passed
}

fn poisson(draw: &mut Draw, mean: f64) -> f64 {
    let (mut at, mut count) = (draw.wait(), 0.0);
    while at < mean {
        count += 1.0;
        at += draw.wait();
    }
    count
}

/// Starts, by what was drawn without the action: units and bad events by site and month.
fn starts(draw: &mut Draw, fleet: &Fleet, bad: &[Vec<[f64; 2]>]) -> Vec<Option<usize>> {
    let rate = |site: usize, months: std::ops::Range<usize>| {
        let (n, y) =
            bad[site][months].iter().fold((0.0, 0.0), |(n, y), cell| (n + cell[0], y + cell[1]));
        y / n
    };
    let mut order: Vec<(f64, usize)> = (0..fleet.sites)
        .map(|site| {
            let score = match fleet.chosen {
                Chosen::AtRandom => draw.unit(),
                Chosen::Worst => rate(site, START - 3..START),
                Chosen::Fallen => rate(site, START - 3..START) - rate(site, START - 12..START - 3),
                Chosen::WorstYear => rate(site, START - 12..START),
            };
            (-score, site)
        })
        .collect();
    order.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut starts = vec![None; fleet.sites];
    for (place, (_, site)) in order.into_iter().take(fleet.begin).enumerate() {
        starts[site] = Some(START + place % 3 * fleet.waves);
    }
    starts
}

/// Shares of looks that pass.
fn shares(draw: &mut Draw, fleet: &Fleet) -> Table {
    let (course, sizes) = course(draw, fleet);
    let odds = |site: usize, month: usize| 1.4 + course[site][month];
    let mut cells = vec![vec![[0.0; 3]; MONTHS]; fleet.sites];
    for (site, months) in cells.iter_mut().enumerate() {
        for (month, cell) in months.iter_mut().enumerate() {
            let looks = poisson(draw, sizes[site]).max(1.0);
            *cell = [looks, passing(draw, looks, odds(site, month)), 0.0];
        }
    }
    let failing: Vec<Vec<[f64; 2]>> =
        cells.iter().map(|months| months.iter().map(|[n, y, _]| [*n, n - y]).collect()).collect();
    let starts = starts(draw, fleet, &failing);
    let (mut truth, mut units) = (0.0, 0.0);
    for (site, start) in starts.iter().enumerate() {
        for (month, cell) in cells[site].iter_mut().enumerate().skip(start.unwrap_or(MONTHS)) {
            let looks = cell[0];
            let share = |odds: f64| 1.0 / (1.0 + (-odds).exp());
            let (before, since) = (odds(site, month), odds(site, month) + fleet.effect);
            if fleet.effect != 0.0 {
                cell[1] = passing(draw, looks, since);
            }
            if Some(month) != *start {
                truth += looks * (mixed(since, share) - mixed(before, share));
                units += looks;
            }
        }
    }
    expect(&mut cells);
    Table { cells, starts, truth: truth / units }
}

/// Mean of a share over work orders that differ: by nine points of their normal scatter.
fn mixed(odds: f64, share: impl Fn(f64) -> f64) -> f64 {
    let points = (-4..=4).map(f64::from);
    let weight = |z: f64| (-0.5 * z * z).exp();
    let total: f64 = points.clone().map(weight).sum();
    points.map(|z| weight(z) * share(odds + 0.6 * z)).sum::<f64>() / total
}

/// First faults in connection-months.
fn faults(draw: &mut Draw, fleet: &Fleet) -> Table {
    let (course, sizes) = course(draw, fleet);
    let rate = |site: usize, month: usize| 0.06 * course[site][month].exp();
    let mut cells = vec![vec![[0.0; 3]; MONTHS]; fleet.sites];
    for (site, months) in cells.iter_mut().enumerate() {
        for (month, cell) in months.iter_mut().enumerate() {
            *cell = [sizes[site], poisson(draw, sizes[site] * rate(site, month)), 0.0];
        }
    }
    let bad: Vec<Vec<[f64; 2]>> =
        cells.iter().map(|months| months.iter().map(|[n, y, _]| [*n, *y]).collect()).collect();
    let starts = starts(draw, fleet, &bad);
    if fleet.effect != 0.0 {
        for (site, start) in starts.iter().enumerate() {
            let since = start.unwrap_or(MONTHS);
            for (month, cell) in cells[site].iter_mut().enumerate().skip(since) {
                let mean = sizes[site] * rate(site, month) * fleet.effect.exp();
                cell[1] = poisson(draw, mean);
            }
        }
    }
    expect(&mut cells);
    Table { cells, starts, truth: fleet.effect.exp() }
}

/// What the fleet's share leads to expect.
fn expect(cells: &mut [Vec<[f64; 3]>]) {
    let all = cells.iter().flatten().fold((0.0, 0.0), |(n, y), cell| (n + cell[0], y + cell[1]));
    for cell in cells.iter_mut().flatten() {
        cell[2] = cell[0] * all.1 / all.0;
    }
}

/// The comparison as the review makes it.
fn compared(draw: &mut Draw, table: &Table, of_shares: bool, most: usize) -> Compared {
    let effort = Effort { level: 0.95, seed: draw.bits(), most };
    let followed =
        Followed { cells: &table.cells, starts: &table.starts, more_is_better: of_shares };
    if of_shares {
        Compared::of_shares(&followed, effort)
    } else {
        Compared::of_counts(&followed, effort)
    }
}

fn table(draw: &mut Draw, fleet: &Fleet, of_shares: bool) -> Table {
    if of_shares { shares(draw, fleet) } else { faults(draw, fleet) }
}

fn words(fleet: &Fleet) -> String {
    let waves = if fleet.waves > 0 { "; in three waves" } else { "" };
    let drift = if fleet.drift > 0.0 { "; own drifts" } else { "" };
    let Fleet { sites, begin, chosen, .. } = fleet;
    format!("{sites} sites; {begin} begin; {}; shocks in common{drift}{waves}", chosen.words())
}

fn named(of_shares: bool) -> &'static str {
    if of_shares { "change of a share" } else { "ratio of faults" }
}

/// Arrangements that are drawn where there are more.
fn drawn(fleet: &Fleet) -> usize {
    if fleet.sites > 20 { 199 } else { 399 }
}

/// No effect: how often p is below .05, of results without a flag.
fn nothing(fleet: Fleet, of_shares: bool, promised: bool) -> Setting {
    let nominal = if promised { Nominal::Alarms(MOST) } else { Nominal::Stated };
    let firm = |doubts: Doubts| !doubts.not_parallel && !doubts.chosen_when_bad;
    false_alarms(fleet, of_shares, ("p below .05 without a flag", nominal), WHOLE, firm)
}

/// No effect, begun after a bad quarter: how often p of the reading that leaves the quarter out is below .05.
fn nothing_without_quarter(fleet: Fleet) -> Setting {
    let what = ("p below .05 without the bad quarter before", Nominal::Alarms(MOST));
    let firm = |doubts: Doubts| doubts.chosen_when_bad && !doubts.not_parallel;
    false_alarms(fleet, true, what, WITHOUT_QUARTER, firm)
}

/// How often one reading finds an effect where there is none, of results with the doubts that are `firm`.
fn false_alarms(
    fleet: Fleet,
    of_shares: bool,
    (what, nominal): (&str, Nominal),
    reading: Window,
    firm: impl Fn(Doubts) -> bool + 'static,
) -> Setting {
    let method = format!("{}; no effect; {what}", named(of_shares));
    let claim = Claim::of("5.12", &method, &words(&fleet), nominal);
    Setting::new(vec![claim], move |draw| {
        let table = table(draw, &fleet, of_shares);
        let compared = compared(draw, &table, of_shares, drawn(&fleet));
        let is_firm = firm(compared.doubts());
        let found = compared.over(reading, true).filter(|_| is_firm);
        vec![found.and_then(|found| alarm(found.p < 0.05))]
    })
}

/// A planted effect: how often its interval holds it.
fn planted(fleet: Fleet, of_shares: bool, least: f64) -> Setting {
    let method = format!("{}; planted effect", named(of_shares));
    let nominal = Nominal::Coverage(least);
    let claim = Claim::of("5.12", &method, &words(&fleet), nominal);
    // Limits of ratios are found by halving, which costs thirty times as much.
    let most = if of_shares { drawn(&fleet) } else { drawn(&fleet) / 2 };
    Setting::new(vec![claim], move |draw| {
        let table = table(draw, &fleet, of_shares);
        let found = compared(draw, &table, of_shares, most).over(WHOLE, true);
        vec![found.map(|found| between([found.low, found.high], table.truth))]
    })
}

pub fn settings() -> Vec<Setting> {
    let sized = |sites, begin| Fleet { sites, begin, ..PLAIN };
    let mut all = Vec::new();
    for (sites, begin) in [(4, 2), (10, 3), (40, 8)] {
        let fleet = sized(sites, begin);
        let chosen = |chosen| Fleet { chosen, ..fleet };
        all.push(nothing(fleet, true, true));
        all.push(nothing(Fleet { drift: 0.3, ..fleet }, true, true));
        all.push(nothing(chosen(Chosen::Worst), true, true));
        // Of forty sites those that fell most are always flagged: nothing is left to count.
        if sites < 40 {
            all.push(nothing(chosen(Chosen::Fallen), true, true));
        }
        all.push(nothing(chosen(Chosen::WorstYear), true, false));
        if sites > 4 {
            all.push(nothing_without_quarter(chosen(Chosen::Worst)));
            all.push(nothing_without_quarter(chosen(Chosen::Fallen)));
        }
        all.push(nothing(fleet, false, true));
        // With two of four sites no p below a third can come out: the interval has the level of two thirds.
        let least = if sites == 4 { 0.65 } else { LEAST };
        all.push(planted(Fleet { effect: 0.5, ..fleet }, true, least));
        all.push(planted(Fleet { effect: -0.6, ..fleet }, false, least));
    }
    let waves = Fleet { waves: 3, ..sized(10, 4) };
    all.push(nothing(waves, true, true));
    all.push(planted(Fleet { effect: 0.5, ..waves }, true, LEAST));
    all.push(nothing(Fleet { chosen: Chosen::Worst, ..sized(10, 3) }, false, true));
    all[0].quick = 60;
    all.into_iter().map(Setting::costly).collect()
}
