//! Whether events become more or less frequent, from counts of consecutive spells.
//!
//! Time is exposure that has been gathered: a rate that is constant per unit of exposure shows no
//! trend, however fast exposure grows.

use crate::stats::estimate::{Estimate, Warning};
use crate::stats::special::input;
use crate::stats::special::quantile::{normal_quantile, normal_two_sided};
use crate::stats::special::root::root_from;
use crate::stats::wald::Basis;

const METHOD: &str = "power law of counts, profile likelihood";

/// One spell; spells follow each other.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Spell {
    /// Events in it.
    pub events: u64,
    /// Exposure gathered in it, at least 0; a spell without is left out, its events too.
    pub exposure: f64,
}

/// Laplace's test of a constant rate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Laplace {
    /// Standard normal if the rate is constant; above 0 where it grows.
    pub u: f64,
    /// Two-sided p value of a constant rate.
    pub p: f64,
}

/// A spell with exposure, on the scale where all exposure is 1.
#[derive(Clone, Copy, Debug)]
struct Piece {
    events: f64,
    from: f64,
    to: f64,
}

fn pieces(spells: &[Spell]) -> Vec<Piece> {
    let exposed = || spells.iter().filter(|spell| input::amount(spell.exposure) > 0.0);
    let total: f64 = exposed().map(|spell| input::amount(spell.exposure)).sum();
    let (mut gathered, mut carried) = (0.0, 0.0);
    let mut pieces: Vec<Piece> = Vec::new();
    for spell in exposed() {
        let from = pieces.last().map_or(0.0, |piece| piece.to);
        gathered += input::amount(spell.exposure);
        let to = (gathered / total).min(1.0);
        carried += spell.events as f64;
        // A spell too short to be distinguished from its neighbours is part of the next one.
        if to > from {
            pieces.push(Piece { events: carried, from, to });
            carried = 0.0;
        }
    }
    if let Some(last) = pieces.last_mut() {
        last.to = 1.0;
        last.events += carried;
    }
    pieces
}

/// Laplace's trend test of counts: each event stands at the middle of its spell. `phi` is how many
/// times as much as Poisson the counts vary (below 1 counts as 1).
///
/// `None` without events, or with fewer than two spells. For many short spells it is the
/// test of the events' own ages.
///
/// Source: Cox & Lewis (1966), The Statistical Analysis of Series of Events, section 3.3 [from
/// memory]; for counts it is the score test of a log-linear rate.
pub fn grouped_laplace(spells: &[Spell], phi: f64) -> Option<Laplace> {
    let pieces = pieces(spells);
    let events: f64 = pieces.iter().map(|piece| piece.events).sum();
    let middle = |piece: &Piece| 0.5 * (piece.from + piece.to) - 0.5;
    let gap: f64 = pieces.iter().map(|piece| piece.events * middle(piece)).sum();
    let spread: f64 =
        pieces.iter().map(|piece| (piece.to - piece.from) * middle(piece).powi(2)).sum();
    if pieces.len() < 2 || events <= 0.0 {
        return None;
    }
    let u = input::finite(gap / (input::scatter(phi) * events * spread).sqrt())?;
    Some(Laplace { u, p: normal_two_sided(u) })
}

/// Growth of a power-law process from counts: 1 is a constant rate, above 1 a growing one. Maximum
/// likelihood given the total, profile-likelihood interval with `phi` times the spread.
///
/// All events in the first spell: `Boundary`, value 0; all in the last: `OneSided`, no value. Without
/// events, or with fewer than two spells: `NoData`.
///
/// Source: Crow (1974), Reliability analysis for complex repairable systems, in Reliability and
/// Biometry (SIAM), 379-410; for grouped data MIL-HDBK-189 (1981), appendix C [both from memory]; interval:
/// Venzon & Moolgavkar (1988), Appl. Stat. 37, 87-94 [from memory], its cut times `phi` as McCullagh &
/// Nelder (1989), section 9.3.
pub fn grouped_power_law(spells: &[Spell], phi: f64, level: f64) -> Estimate {
    let pieces = pieces(spells);
    let events: f64 = pieces.iter().map(|piece| piece.events).sum();
    let n = spells.iter().map(|spell| input::amount(spell.exposure)).sum();
    let mut basis = Basis { n, events: events as u64, level, method: METHOD, warnings: Vec::new() };
    if pieces.len() < 2 || events <= 0.0 {
        basis.warnings.push(Warning::NoData);
        return basis.nothing();
    }
    let (only_first, only_last) =
        (pieces[0].events >= events, pieces[pieces.len() - 1].events >= events);
    // Half the fall of the log-likelihood that an interval allows.
    let cut = 0.5 * input::scatter(phi) * normal_quantile(level).powi(2);
    let likelihood = |log_growth: f64| log_likelihood(&pieces, log_growth.exp());
    if only_first || only_last {
        // The likelihood rises to 0 as growth falls to 0, or grows without end.
        let falls = |x: f64| if only_first { -likelihood(x) - cut } else { likelihood(x) + cut };
        let limit = root_from(falls, 0.0, 1.0).exp();
        return match only_first {
            true => {
                basis.warnings.push(Warning::Boundary);
                basis.limits(Some(0.0), Some(0.0), Some(limit))
            }
            false => {
                basis.warnings.push(Warning::OneSided);
                basis.limits(None, Some(limit), None)
            }
        };
    }
    let top = root_from(|x| -slope(&pieces, x.exp()), 0.0, 0.5);
    let best = likelihood(top);
    let step = (1.0 / events).sqrt().max(1e-9);
    let low =
        root_from(|x| if x < top { likelihood(x) - best + cut } else { cut }, top - step, step);
    let high =
        root_from(|x| if x > top { best - likelihood(x) - cut } else { -cut }, top + step, step);
    let [low, value, high] = [low.min(top), top, high.max(top)].map(f64::exp);
    basis.limits(Some(value), Some(low), Some(high))
}

/// Pearson's chi-square of the counts about this growth, over its degrees of freedom (spells less two):
/// what is left of their scatter when the trend is taken out. `None` without degrees of freedom.
///
/// Source: McCullagh & Nelder (1989), Generalized Linear Models, 2nd ed., section 6.2.
pub fn scatter_about(spells: &[Spell], growth: f64) -> Option<f64> {
    let pieces = pieces(spells);
    let events: f64 = pieces.iter().map(|piece| piece.events).sum();
    let up_to = |at: f64| if at > 0.0 { at.powf(growth) } else { 0.0 };
    let gaps = pieces.iter().map(|piece| {
        let expected = events * (up_to(piece.to) - up_to(piece.from));
        if expected > 0.0 { (piece.events - expected).powi(2) / expected } else { 0.0 }
    });
    let chi_square: f64 = gaps.sum();
    let df = pieces.len().saturating_sub(2) as f64;
    input::finite(chi_square / df).filter(|_| events > 0.0)
}

/// Minus the log of the exposure gathered up to a point.
fn age(at: f64) -> f64 {
    -at.ln()
}

/// `sum d ln(to^growth - from^growth)`.
fn log_likelihood(pieces: &[Piece], growth: f64) -> f64 {
    let with_events = pieces.iter().filter(|piece| piece.events > 0.0);
    with_events
        .map(|piece| {
            let share = if piece.from > 0.0 {
                let width = growth * (age(piece.from) - age(piece.to));
                // ln(1 - e^-width), without losing the digits of either end.
                if width < 0.7 { (-(-width).exp_m1()).ln() } else { (-(-width).exp()).ln_1p() }
            } else {
                0.0
            };
            // The last piece ends at age 0, whatever the growth.
            piece.events * (share - if piece.to < 1.0 { growth * age(piece.to) } else { 0.0 })
        })
        .sum()
}

/// Its slope in growth: falls, since the log-likelihood of exponential ages known to lie between two
/// points is concave.
fn slope(pieces: &[Piece], growth: f64) -> f64 {
    let with_events = pieces.iter().filter(|piece| piece.events > 0.0);
    with_events
        .map(|piece| {
            let inside = if piece.from > 0.0 {
                let width = age(piece.from) - age(piece.to);
                width / (growth * width).exp_m1()
            } else {
                0.0
            };
            piece.events * (inside - age(piece.to))
        })
        .sum()
}
