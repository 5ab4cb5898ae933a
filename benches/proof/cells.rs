//! 5.5: ratios of many cells that borrow strength from each other. Cells without anything of their own
//! to go by (`borrowed`) are shown but not ranked, and are not counted here.

use super::chance::normal;
use super::ratios::strata;
use super::score::{
    Claim, Nominal, Setting, alarm, alarms, covered, covered_on_average, leaves_out,
};
use motetrail::stats::exact_ratio::exact_ratio;
use motetrail::stats::random_effects::{CellPosterior, Grid, RandomEffects, random_effects_on};
use motetrail::stats::{Estimate, PersonTime};
use motetrail::synth::draw::Draw;

const LEVEL: f64 = 0.95;

/// Scale of the half-normal prior of the spread, as the settings have it.
const SCALE: f64 = 0.5;

/// Strata of each cell.
const STRATA: u32 = 3;

/// Half as fine as the reports' own, at an eighth of the cost: limits of log ratios move by under 0.001,
/// of the spread by under 0.005 (15 tables tried).
const GRID: Grid = Grid { cell: 33, mu: 17, tau: 16 };

pub fn fitted(cells: &[Vec<PersonTime>]) -> RandomEffects {
    random_effects_on(cells, SCALE, LEVEL, GRID)
}

pub fn settings() -> Vec<Setting> {
    let mut all = Vec::new();
    for events in [0.3, 3.0, 20.0] {
        all.push(from_prior(8, events));
        all.push(fixed(events, "all 1", [0.0; 8], true));
        all.push(fixed(events, "one 4 of 8; the rest 1", one_apart(), false));
    }
    all.push(from_prior(4, 3.0));
    all.push(apart((8, 20.0), [4.0, 1.0], 0.0));
    all.push(apart((8, 60.0), [5.0, 1.5], 0.2));
    all.push(apart((30, 20.0), [5.0, 1.5], 0.0));
    all.push(apart((30, 60.0), [5.0, 1.5], 0.2));
    all.push(apart((54, 20.0), [5.0, 1.5], 0.0));
    all
}

/// Log ratios of eight cells, the first fourfold.
fn one_apart() -> [f64; 8] {
    let mut logs = [0.0; 8];
    logs[0] = 4.0_f64.ln();
    logs
}

fn cells(draw: &mut Draw, logs: &[f64], events: f64) -> Vec<Vec<PersonTime>> {
    let cell = |log: &f64| strata(draw, STRATA, events / f64::from(STRATA), log.exp(), 0.0);
    logs.iter().map(cell).collect()
}

/// Cells whose mean and spread are drawn too: mean normal about 0.4, spread half-normal.
fn from_prior(count: usize, events: f64) -> Setting {
    let words = format!("{count} cells; {events} events each; mean and spread drawn");
    let claims = vec![
        Claim::covers("5.5", "random effects; ratio; mean over cells", &words),
        Claim::covers("5.5", "random effects; attributable; mean over cells", &words),
        Claim::covers("5.5", "random effects; mean of the logs", &words),
        Claim::covers("5.5", "random effects; spread of the logs", &words),
    ];
    Setting::new(claims, move |draw| {
        let mu = 0.4 + 0.5 * normal(draw);
        let tau = SCALE * normal(draw).abs();
        let logs: Vec<f64> = (0..count).map(|_| mu + tau * normal(draw)).collect();
        let found = fitted(&cells(draw, &logs, events));
        let pick = |pick: fn(&CellPosterior) -> &Estimate, truth: fn(f64) -> f64| {
            let pairs = found.cells.iter().zip(&logs);
            covered_on_average(pairs.map(|(cell, log)| (pick(cell), truth(*log))))
        };
        vec![
            pick(|cell| &cell.ratio, f64::exp),
            pick(|cell| &cell.attributable, |log| 1.0 - (-log).exp()),
            covered(&found.mu, mu),
            covered(&found.tau, tau),
        ]
    })
    .costly()
}

fn fixed(events: f64, name: &str, logs: [f64; 8], null: bool) -> Setting {
    let words = format!("8 cells; {events} events each; ratios {name}");
    let mut claims = vec![
        Claim::covers("5.5", "random effects; ratio; first cell", &words),
        Claim::covers("5.5", "random effects; ratio; mean over cells", &words),
    ];
    if null {
        let listed = "random effects; cells whose interval leaves out 1";
        claims.push(Claim::alarms("5.5", listed, &words, 0.05));
    }
    Setting::new(claims, move |draw| {
        let found = fitted(&cells(draw, &logs, events));
        let pairs = || found.cells.iter().zip(&logs).map(|(cell, log)| (&cell.ratio, log.exp()));
        vec![
            pairs().next().and_then(|(estimate, truth)| covered(estimate, truth)),
            covered_on_average(pairs()),
            alarms(found.cells.iter().map(|cell| leaves_out(&cell.ratio, 1.0))),
        ]
    })
    .costly()
}

/// One cell apart among many whose log ratios differ by `spread`: the events are those of the reference.
fn apart((count, events): (usize, f64), [first, rest]: [f64; 2], spread: f64) -> Setting {
    let words = format!(
        "{count} cells; {events} reference faults each; one {first}; the rest {rest}; spread {spread}"
    );
    let of = |what: &str| format!("cells one of which stands apart; {what}");
    let claims = vec![
        Claim::of("5.5", &of("ratio that leads; the one apart"), &words, Nominal::Coverage(0.9)),
        Claim::of("5.5", &of("ratio that leads; mean over cells"), &words, Nominal::Coverage(0.94)),
        Claim::covers("5.5", &of("ratio alone; the one apart"), &words),
        Claim::stated("5.5", &of("the one apart has the largest ratio"), &words),
    ];
    // Two thirds of the time are the reference's, about.
    let events = events * 1.5;
    Setting::new(claims, move |draw| {
        let log = |place: usize, draw: &mut Draw| match place {
            0 => f64::ln(first),
            _ => f64::ln(rest) + spread * normal(draw),
        };
        let logs: Vec<f64> = (0..count).map(|place| log(place, draw)).collect();
        let cells = cells(draw, &logs, events);
        let found = fitted(&cells);
        let alone: Vec<Estimate> = cells.iter().map(|strata| exact_ratio(strata, LEVEL)).collect();
        let leading: Vec<&Estimate> =
            found.cells.iter().zip(&alone).map(|(cell, alone)| cell.leading(alone)).collect();
        let largest = |of: &dyn Fn(usize) -> f64| {
            (0..count).max_by(|a, b| of(*a).total_cmp(&of(*b))).unwrap_or(0)
        };
        let first = largest(&|at| found.cells[at].ratio.value.unwrap_or(0.0));
        vec![
            covered(leading[0], logs[0].exp()),
            covered_on_average(leading.iter().zip(&logs).map(|(e, log)| (*e, log.exp()))),
            covered(&alone[0], logs[0].exp()),
            alarm(first == 0),
        ]
    })
    .costly()
    .tables(1000)
}
