//! 5.5: money that goes with skipped looks in many cells that borrow strength, site-weeks resampled.
//! Cells without anything of their own to go by, and those without a costed fault, have no interval.

use super::cells::fitted;
use super::chance::{frailty, normal, poisson};
use super::score::{Claim, Setting, covered_on_average};
use motetrail::stats::bootstrap::{Resampled, expanded_percentile, poisson_weight, uniform};
use motetrail::stats::random_effects::RandomEffects;
use motetrail::stats::stratified_poisson::{StratifiedRow, cluster_scores};
use motetrail::stats::tilted::tilted_log;
use motetrail::stats::{Estimate, PersonTime};
use motetrail::synth::draw::Draw;

const LEVEL: f64 = 0.95;
const CELLS: usize = 8;
const STRATA: u64 = 4;
const REPLICATES: u64 = 399;

/// Mean cost of a fault, and cost of the looks of a unit of exposed time.
const FAULT: f64 = 1000.0;
const LOOKS: f64 = 300.0;

pub fn settings() -> Vec<Setting> {
    let mut all = Vec::new();
    for (weeks, events, variance) in [(12, 4.0, 0.0), (12, 20.0, 0.0), (12, 20.0, 0.5)] {
        all.push(money(weeks, events, variance));
    }
    all
}

/// Site-weeks of a cell: two rows each, and the cost of the exposed faults.
struct Cell {
    rows: Vec<StratifiedRow>,
    costs: Vec<f64>,
    log_ratio: f64,
}

/// `events` are expected at the reference's rate over all time of the cell. The site-weeks are spread
/// over the strata in turn; a site-week's two sides have multipliers of their own.
fn cell(draw: &mut Draw, weeks: usize, events: f64, variance: f64, log_ratio: f64) -> Cell {
    let (mut rows, mut costs) = (Vec::new(), Vec::new());
    for cluster in 0..weeks as u64 {
        let share = 0.3 + 0.4 * draw.unit();
        let size = (0.5 + draw.unit()) / weeks as f64;
        for exposed in [true, false] {
            let time = size * if exposed { share } else { 1.0 - share };
            let rate = frailty(draw, variance) * if exposed { log_ratio.exp() } else { 1.0 };
            let events = poisson(draw, events * time * rate) as f64;
            rows.push(StratifiedRow { stratum: cluster % STRATA, cluster, exposed, events, time });
            if exposed {
                // Log-normal with a coefficient of variation of about 1 and mean 1.
                let cost = |_| FAULT * (0.8 * normal(draw) - 0.32).exp();
                costs.push((0..events as u64).map(cost).sum());
            }
        }
    }
    Cell { rows, costs, log_ratio }
}

/// Attributable cost and net saving of a cell by replicate, its ratio solved again.
fn drawn(cell: &Cell, place: u64, effects: &RandomEffects, seed: u64) -> Vec<[f64; 2]> {
    let at = effects.cells[place as usize].ratio.value.map_or(0.0, f64::ln);
    let (strata, scores) = cluster_scores(&cell.rows, at);
    let replicate = |replicate: u64| {
        let mut number = 0;
        let shared = effects.draw_shared(&mut || {
            number += 1;
            uniform(!seed, replicate, number)
        });
        let u = uniform(!seed, replicate, place + 9);
        let prior = effects.drawn_prior(place as usize, shared.unwrap_or((0.0, 1.0)), u);
        let weight =
            |cluster: u64| f64::from(poisson_weight(seed, replicate, place * 1000 + cluster));
        let tilt = scores.iter().map(|(cluster, score)| (weight(*cluster) - 1.0) * score).sum();
        let log = tilted_log(&strata, tilt, at, Some(prior));
        let cost: f64 = (0..).zip(&cell.costs).map(|(week, cost)| weight(week) * cost).sum();
        let exposed = cell.rows.iter().filter(|row| row.exposed);
        let time: f64 = exposed.map(|row| weight(row.cluster) * row.time).sum();
        let attributable = cost * (1.0 - (-log).exp());
        [attributable, attributable - LOOKS * time]
    };
    (0..REPLICATES).map(replicate).collect()
}

/// The three intervals of a cell, each with what it should hold: half a unit of time is exposed on
/// average. None without a costed fault, or where all comes from other cells.
fn intervals(
    cell: &Cell,
    place: usize,
    effects: &RandomEffects,
    events: f64,
    seed: u64,
) -> Option<[(Estimate, f64); 3]> {
    let cost: f64 = cell.costs.iter().sum();
    let own = &effects.cells[place];
    if cost == 0.0 || own.borrowed {
        return None;
    }
    let time: f64 = cell.rows.iter().filter(|row| row.exposed).map(|row| row.time).sum();
    let draws = drawn(cell, place as u64, effects, seed);
    let scaled = |share: Option<f64>| share.map(|share| share * cost);
    let share = &own.attributable;
    let value = scaled(share.value);
    let of = |value, which: usize| {
        let draws: Vec<Option<f64>> = draws.iter().map(|money| Some(money[which])).collect();
        let clusters = cell.costs.len() as u64;
        expanded_percentile(Resampled { value, n: time, events: 0, clusters }, &draws, LEVEL)
    };
    let truth = 0.5 * events * (cell.log_ratio.exp() - 1.0) * FAULT;
    let (low, high) = (scaled(share.low), scaled(share.high));
    let plain = Estimate { value, low, high, ..share.clone() };
    let net = value.map(|value| value - LOOKS * time);
    Some([(of(value, 0), truth), (of(net, 1), truth - LOOKS * 0.5), (plain, truth)])
}

/// Strata of a cell, summed over its site-weeks.
fn summed(cell: &Cell) -> Vec<PersonTime> {
    let mut strata = vec![PersonTime::default(); STRATA as usize];
    for row in &cell.rows {
        let sums = &mut strata[row.stratum as usize];
        let (d, t) =
            if row.exposed { (&mut sums.d1, &mut sums.t1) } else { (&mut sums.d0, &mut sums.t0) };
        *d += row.events as u64;
        *t += row.time;
    }
    strata
}

fn money(weeks: usize, events: f64, variance: f64) -> Setting {
    let words =
        format!("{CELLS} cells of {weeks} site-weeks; {events} events each; variance {variance}");
    let claims = vec![
        Claim::covers("5.5", "attributable cost of a cell; resampled with its ratio", &words),
        Claim::covers("5.5", "net saving of a cell; resampled with its ratio", &words),
        Claim::covers("5.5", "attributable cost of a cell; cost seen times posterior", &words),
    ];
    Setting::new(claims, move |draw| {
        let (mu, tau) = (0.4 + 0.5 * normal(draw), 0.5 * normal(draw).abs());
        let cells: Vec<Cell> = (0..CELLS)
            .map(|_| {
                let log_ratio = mu + tau * normal(draw);
                cell(draw, weeks, events, variance, log_ratio)
            })
            .collect();
        let strata: Vec<Vec<PersonTime>> = cells.iter().map(summed).collect();
        let effects = fitted(&strata);
        let seed = draw.bits();
        let found: Vec<[(Estimate, f64); 3]> = cells
            .iter()
            .enumerate()
            .filter_map(|(place, cell)| intervals(cell, place, &effects, events, seed))
            .collect();
        let score = |which: usize| {
            let pairs = found.iter().map(|own| (&own[which].0, own[which].1));
            covered_on_average(pairs)
        };
        [0, 1, 2].map(score).to_vec()
    })
    .costly()
}
