//! Ratios of rates in many cells that borrow strength from each other.
//!
//! Promises intervals that hold the uncertainty of the shared mean and spread too: they are integrated
//! over, not plugged in, because a spread estimated as 0 would give every cell an interval of the
//! shared mean alone. Stops at conditional likelihoods: strata without events or without person-time on a
//! side say nothing here.

use rayon::prelude::*;

use super::cell_likelihood::CellLikelihood;
use super::cell_posterior::cell_density;
use super::hyper_grid::{HyperPosterior, Slice, TAU_END};
use super::person_time::PersonTime;
use super::prior::{APART, APART_BY, Cell, MU_END, Prior};
use super::tilted::NormalPrior;
use crate::stats::estimate::{Estimate, Warning};
use crate::stats::special::density::{Density, around, cubic_through, spaced};
use crate::stats::special::input;
use crate::stats::special::quantile::upper_normal_quantile;

/// How finely is integrated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Grid {
    /// Number of log ratios that a cell is worked out at.
    pub cell: usize,
    /// Number of means that are tried for each spread.
    pub mu: usize,
    /// Number of spreads that are tried.
    pub tau: usize,
}

impl Default for Grid {
    /// Twice as many of each move no result by 1e-4 (tested).
    fn default() -> Self {
        Self { cell: 65, mu: 33, tau: 32 }
    }
}

/// Posterior of one cell.
#[derive(Clone, Debug, PartialEq)]
pub struct CellPosterior {
    /// Ratio of rates: median with equal-tailed interval.
    pub ratio: Estimate,
    /// Attributable fraction `1 - 1 / r`: mean with equal-tailed interval, not truncated at zero.
    pub attributable: Estimate,
    /// Whether no stratum of the cell says anything, so that all it has comes from other cells.
    pub borrowed: bool,
    /// Probability that the cell stands apart from the others.
    pub apart: f64,
}

impl CellPosterior {
    /// The ratio that leads: the posterior one, or, where the cell more likely stands apart than not, the one of
    /// its own strata (`exact_ratio`).
    pub fn leading<'a>(&'a self, alone: &'a Estimate) -> &'a Estimate {
        if self.apart > 0.5 && alone.value.is_some() { alone } else { &self.ratio }
    }
}

/// Posterior of all cells.
#[derive(Clone, Debug)]
pub struct RandomEffects {
    /// One a cell that is asked for, in the order given.
    pub cells: Vec<CellPosterior>,
    /// Mean of the log ratios of cells that do not stand apart: median with equal-tailed interval.
    pub mu: Estimate,
    /// Standard deviation of the log ratios between these: median with equal-tailed interval.
    pub tau: Estimate,
    layers: Vec<Layer>,
    known: Vec<Cell>,
}

/// A spread, its share of the posterior, and the density of the mean there.
#[derive(Clone, Debug)]
struct Layer {
    tau: f64,
    weight: f64,
    mu: Density,
}

/// Posterior ratios of cells, each with its strata.
///
/// Likelihood of a cell: product over its strata of the binomial of the exposed events given all
/// events. Log ratios are normal over cells, within [-6, 6]; their mean is flat on [-4, 4] and their
/// standard deviation half-normal with scale `tau_scale` on (0, 2] a priori. With a chance of 0.15 a cell
/// stands apart: its log ratio is normal about the same mean with a standard deviation of 1.5. (Under one
/// normal for all, a single cell of fivefold risk among thirty is drawn to the others: its interval held
/// the truth in .2 to .6 of simulations.)
///
/// Source: conditional likelihood Breslow & Day (1987), Statistical Methods in Cancer Research II,
/// section 3.5 [section from memory]; model and half-normal prior Spiegelhalter, Abrams & Myles (2004),
/// Bayesian Approaches to Clinical Trials, chapter 5; a contaminated normal for what stands apart, Box &
/// Tiao (1968), Biometrika 55, 119-129 [both from memory]. Chance and width of the second part are ours, by
/// simulation (`tests/reference/proof.csv`).
pub fn random_effects(cells: &[Vec<PersonTime>], tau_scale: f64, level: f64) -> RandomEffects {
    random_effects_on(cells, tau_scale, level, Grid::default())
}

/// As [`random_effects`], on a grid of the caller's choice (at least 8 of each are taken).
pub fn random_effects_on(
    cells: &[Vec<PersonTime>],
    tau_scale: f64,
    level: f64,
    grid: Grid,
) -> RandomEffects {
    let all: Vec<usize> = (0..cells.len()).collect();
    random_effects_of(cells, &all, (tau_scale, level), grid)
}

/// As [`random_effects_on`], with the posteriors of the cells at the places `asked` alone: the others only say what they know
/// of mean and spread.
pub fn random_effects_of(
    cells: &[Vec<PersonTime>],
    asked: &[usize],
    (tau_scale, level): (f64, f64),
    grid: Grid,
) -> RandomEffects {
    let strata: Vec<Vec<PersonTime>> = cells
        .iter()
        .map(|cell| cell.iter().copied().filter(PersonTime::is_informative).collect())
        .collect();
    // Cells of which nothing is known are all alike.
    let cell = |strata: &Vec<PersonTime>| Cell::new(CellLikelihood::new(strata, grid.cell));
    let known: Vec<Option<Cell>> =
        strata.par_iter().map(|of| (!of.is_empty()).then(|| cell(of))).collect();
    let unknown = asked.iter().any(|at| known[*at].is_none()).then(|| cell(&Vec::new()));
    let informative: Vec<&Cell> = known.iter().flatten().collect();
    let slices = HyperPosterior {
        cells: &informative,
        tau_scale: input::amount(tau_scale).max(1e-3),
        mu_nodes: grid.mu.max(8),
        tau_nodes: grid.tau.max(8),
    }
    .slices();
    let pooled = pooled(strata.iter().flatten(), level);
    let posterior =
        |cell: &Cell, strata: &[PersonTime]| cell_posterior(cell, strata, &slices, level);
    let alike = unknown.as_ref().map(|cell| posterior(cell, &[]));
    let cells = asked.par_iter().filter_map(|at| match &known[*at] {
        Some(cell) => Some(posterior(cell, &strata[*at])),
        None => alike.clone(),
    });
    let known_of = |at: &usize| known[*at].as_ref().or(unknown.as_ref()).cloned();
    RandomEffects {
        cells: cells.collect(),
        mu: with_interval(&pooled, &mu_density(&slices), |x| x),
        tau: with_interval(&pooled, &tau_density(&slices), |x| x),
        layers: layers(&slices),
        known: asked.iter().filter_map(known_of).collect(),
    }
}

impl RandomEffects {
    /// One draw of the log ratios of all cells that were asked for from their joint posterior.
    ///
    /// Takes one number in (0, 1) for the spread, one for the mean, and then one for each cell.
    pub fn draw(&self, uniforms: &mut impl FnMut() -> f64) -> Vec<f64> {
        let Some((mu, tau)) = self.draw_shared(uniforms) else {
            return Vec::new();
        };
        let prior = Prior::at(mu, tau);
        let draw = |cell: &Cell| {
            let (u, apart) = (uniforms(), prior.means(cell, cell.likelihood.under(tau)).apart);
            // What is left of the number once it has chosen the part is uniform again.
            match u < apart {
                true => cell.likelihood.draw(mu, APART_BY, u / apart),
                false => cell.likelihood.draw(mu, tau, (u - apart) / (1.0 - apart)),
            }
        };
        self.known.iter().map(draw).collect()
    }

    /// A normal prior of the log ratio of the cell at `place` of [`RandomEffects::cells`] whose mean is drawn, given a
    /// shared mean and spread: `u` in (0, 1) chooses by the cell's probability of standing apart, and then the mean.
    pub fn drawn_prior(&self, place: usize, (mu, tau): (f64, f64), u: f64) -> NormalPrior {
        let apart = self.cells.get(place).map_or(APART, |cell| cell.apart);
        let (deviation, u) = match u < apart {
            true => (APART_BY, u / apart),
            false => (tau, (u - apart) / (1.0 - apart)),
        };
        let u = u.clamp(f64::MIN_POSITIVE, 1.0 - f64::EPSILON);
        NormalPrior { mean: mu + deviation * upper_normal_quantile(u), deviation }
    }

    /// One draw of the shared mean and spread of the log ratios from their joint posterior.
    ///
    /// Takes one number in (0, 1) for the spread and one for the mean.
    pub fn draw_shared(&self, uniforms: &mut impl FnMut() -> f64) -> Option<(f64, f64)> {
        let mut left = uniforms();
        let chosen = self.layers.iter().find(|layer| {
            left -= layer.weight;
            left < 0.0
        });
        // Rounding may leave a hair above the last layer.
        let layer = chosen.or(self.layers.last())?;
        Some((layer.mu.quantile(uniforms()), layer.tau))
    }
}

/// The share of each spread, with the density of the mean there.
fn layers(slices: &[Slice]) -> Vec<Layer> {
    let top = slices.iter().map(|s| s.log_mass).fold(f64::NEG_INFINITY, f64::max);
    let total: f64 = slices.iter().map(|s| (s.log_mass - top).exp()).sum();
    let layer =
        |s: &Slice| Layer { tau: s.tau, weight: (s.log_mass - top).exp() / total, mu: s.density() };
    slices.iter().map(layer).collect()
}

fn cell_posterior(
    cell: &Cell,
    strata: &[PersonTime],
    slices: &[Slice],
    level: f64,
) -> CellPosterior {
    let (density, apart) = cell_density(cell, slices);
    let blank = pooled(strata.iter(), level);
    let ratio = with_interval(&blank, &density, f64::exp);
    let mut attributable = with_interval(&blank, &density, |x| -(-x).exp_m1());
    let mean = density.mean(|x| -(-x).exp_m1());
    attributable.value = Some(mean);
    // The mean of a fraction with a long lower tail may lie below its equal-tailed interval.
    attributable.low = attributable.low.map(|low| low.min(mean));
    attributable.high = attributable.high.map(|high| high.max(mean));
    CellPosterior { ratio, attributable, borrowed: strata.is_empty(), apart }
}

fn mu_density(slices: &[Slice]) -> Density {
    let layers = layers(slices);
    let average = |f: &dyn Fn(f64) -> f64| -> f64 {
        layers.iter().map(|layer| layer.weight * layer.mu.mean(f)).sum()
    };
    let mean = average(&|mu| mu);
    let variance = average(&|mu| (mu - mean).powi(2));
    let (lo, hi) = around(mean, variance, -MU_END, MU_END);
    let top = slices.iter().map(|s| s.log_mass).fold(f64::NEG_INFINITY, f64::max);
    let height_at = |mu: f64| -> f64 {
        let part = |slice: &Slice| {
            let place = (mu - slice.lo) / slice.step;
            let last = (slice.log.len() - 1) as f64;
            // A hair of rounding must not cut off the ends of a range that the prior ends.
            if place < -1e-9 || place > last + 1e-9 {
                return 0.0;
            }
            (cubic_through(&slice.log, place) - top).exp()
        };
        slices.iter().map(part).sum()
    };
    Density::new(lo, hi, spaced(lo, hi).map(height_at).collect())
}

fn tau_density(slices: &[Slice]) -> Density {
    let step = slices[1].tau - slices[0].tau;
    let log: Vec<f64> = slices.iter().map(|s| s.log_mass).collect();
    let top = log.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let lo = (slices[0].tau - 0.5 * step).max(0.0);
    let hi = (slices[slices.len() - 1].tau + 0.5 * step).min(TAU_END);
    let place = |tau: f64| (tau - slices[0].tau) / step;
    let height = |tau: f64| (cubic_through(&log, place(tau)) - top).exp();
    Density::new(lo, hi, spaced(lo, hi).map(height).collect())
}

/// What strata rest on, without value and limits.
fn pooled<'a>(strata: impl Iterator<Item = &'a PersonTime>, level: f64) -> Estimate {
    let mut blank = Estimate {
        value: None,
        low: None,
        high: None,
        level,
        n: 0.0,
        events: 0,
        method: "random effects of two parts, integrated",
        warnings: Vec::new(),
    };
    for stratum in strata {
        blank.n += input::amount(stratum.t1) + input::amount(stratum.t0);
        blank.events = blank.events.saturating_add(stratum.d1).saturating_add(stratum.d0);
    }
    if blank.events == 0 {
        blank.warnings.push(Warning::NoData);
    }
    blank
}

/// Median and equal-tailed interval of a density, each through the increasing `scale`.
fn with_interval(blank: &Estimate, density: &Density, scale: impl Fn(f64) -> f64) -> Estimate {
    let tail = input::tail(blank.level);
    let at = |p: f64| input::finite(scale(density.quantile(p)));
    Estimate { value: at(0.5), low: at(tail), high: at(1.0 - tail), ..blank.clone() }
}
