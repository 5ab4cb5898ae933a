//! Whether strata share one ratio of rates.
//!
//! Promises its error also where strata hold an event or two and little of the time is exposed: a chi-square
//! over strata divides by variances near 0 there, and a few strata rule it. Stops at one p value.

use super::person_time::PersonTime;
use super::tilted::tilted_log;
use crate::stats::draws::bootstrap::uniform;
use crate::stats::special::incomplete::gamma_tails;
use crate::stats::special::input;

/// Tables that are drawn under one ratio.
const TABLES: u64 = 999;
/// What tells these draws from others.
const SEED: u64 = 0x686f_6d6f_6765_6e65;
/// Events times exposed events up to which tables are drawn; beyond, the gamma tail is as good.
const MOST_DRAWN: f64 = 1e6;

/// A test of one ratio for all strata.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Homogeneity {
    /// Squared gaps between exposed events and those expected, over what chance alone would leave.
    pub excess: f64,
    /// Strata that say something.
    pub strata: u64,
    /// Probability of gaps as large or larger if there were one ratio, in (0, 1].
    pub p: f64,
}

/// Score test of no spread of the log ratio between strata: `sum (d1 - E)^2` at the common conditional
/// maximum-likelihood ratio, given the events of every stratum and the exposed events of all.
///
/// Given these the ratio drops out, and the tables that could have been are drawn: mid-P over 999 of them,
/// the same for the same strata. With a million events times exposed events or more: a shifted gamma with
/// the moments of independent binomials, less what estimating the ratio takes away. `None` with fewer than
/// two strata that say anything, or with all events on one side.
///
/// Source: score test of a variance component, Liang (1987), Biometrika 74, 259-264; conditional
/// distribution as Zelen (1971), Biometrika 58, 129-137, drawn trial by trial (Chen & Liu 1997, Stat. Sinica 7,
/// 875-892); Pearson (1895), Philos. Trans. R. Soc. A 186, 343-414, type III [all from memory].
///
/// A stratum is one or more binomials that share its ratio: of person-time one, of risk sets one an event.
pub fn homogeneity(strata: &[Vec<PersonTime>]) -> Option<Homogeneity> {
    let telling = |parts: &Vec<PersonTime>| -> Vec<PersonTime> {
        parts.iter().copied().filter(PersonTime::is_informative).collect()
    };
    let mut informative: Vec<Vec<PersonTime>> =
        strata.iter().map(telling).filter(|parts| !parts.is_empty()).collect();
    // Tables are drawn in an order of the strata's own, whatever that in which they come.
    informative.sort_by_cached_key(|parts| parts.iter().map(size).collect::<Vec<_>>());
    let of_all: Vec<PersonTime> = informative.iter().flatten().copied().collect();
    let exposed: f64 = of_all.iter().map(|s| s.d1 as f64).sum();
    let events: f64 = of_all.iter().map(PersonTime::events).sum();
    if informative.len() < 2 || exposed <= 0.0 || exposed >= events {
        return None;
    }
    let log_ratio = tilted_log(&of_all, 0.0, 0.0, None);
    let parts: Vec<Part> = informative.iter().map(|s| Part::of(s, log_ratio)).collect();
    let seen = |parts: &Vec<PersonTime>| parts.iter().map(|s| s.d1 as f64).sum::<f64>();
    let seen: Vec<f64> = informative.iter().map(seen).collect();
    let squares = squares(&parts, &seen);
    let (expected, p) = match events * exposed < MOST_DRAWN {
        true => drawn(&parts, exposed as usize, squares),
        false => by_moments(&parts, squares),
    };
    let excess = input::finite(squares / expected)?;
    Some(Homogeneity { excess, strata: informative.len() as u64, p })
}

/// Times and events, the former without the last digits, which hang on the order of sums.
fn size(part: &PersonTime) -> (i64, i64, u64) {
    let rounded = |time: f64| (time * 1e6).round() as i64;
    (rounded(part.t1), rounded(part.t0), part.d1.saturating_add(part.d0))
}

fn squares(parts: &[Part], seen: &[f64]) -> f64 {
    parts.iter().zip(seen).map(|(part, seen)| (seen - part.expected).powi(2)).sum()
}

/// Mean of the squares over tables that could have been, and mid-P of those seen.
fn drawn(parts: &[Part], exposed: usize, seen: f64) -> (f64, f64) {
    let trials: Vec<(usize, f64)> = parts
        .iter()
        .enumerate()
        .flat_map(|(at, part)| {
            let events =
                move |(share, n): &(f64, f64)| std::iter::repeat_n((at, *share), *n as usize);
            part.shares.iter().flat_map(events)
        })
        .collect();
    // chances[k][s]: that the trials from k on come to s exposed events.
    let width = exposed + 1;
    let mut chances = vec![0.0; (trials.len() + 1) * width];
    chances[trials.len() * width] = 1.0;
    for (k, (_, share)) in trials.iter().enumerate().rev() {
        for s in 0..width {
            let (not, with) = (chances[(k + 1) * width + s], s.checked_sub(1));
            let with = with.map_or(0.0, |below| chances[(k + 1) * width + below]);
            chances[k * width + s] = (1.0 - share) * not + share * with;
        }
    }
    let (mut sum, mut beyond) = (0.0, 0.5);
    let mut table = vec![0.0; parts.len()];
    for replicate in 0..TABLES {
        table.fill(0.0);
        let mut left = exposed;
        for (k, (at, share)) in trials.iter().enumerate() {
            if left == 0 {
                break;
            }
            let chance = share * chances[(k + 1) * width + left - 1] / chances[k * width + left];
            if uniform(SEED, replicate, k as u64) < chance {
                table[*at] += 1.0;
                left -= 1;
            }
        }
        let squares = squares(parts, &table);
        sum += squares;
        // Equal up to rounding counts by half.
        let tie = (squares - seen).abs() <= 1e-9 * seen.max(1.0);
        beyond += if tie { 0.5 } else { f64::from(u8::from(squares > seen)) };
    }
    (sum / TABLES as f64, beyond / (TABLES + 1) as f64)
}

/// Mean of the squares by moments, and the gamma tail of those seen.
fn by_moments(parts: &[Part], seen: f64) -> (f64, f64) {
    let sum = |of: fn(&Part) -> f64| parts.iter().map(of).sum::<f64>();
    let total = sum(|part| part.variance);
    let mean: f64 = parts.iter().map(|part| part.variance * (1.0 - part.variance / total)).sum();
    let third = sum(|part| part.third);
    let variance = sum(|part| part.spread) - third * third / total;
    let skewness = sum(|part| part.cube) / variance.powf(1.5);
    // A chi-square of `df`, scaled, and moved so that the mean is right.
    let df = 8.0 / (skewness * skewness);
    let statistic = df + (seen - mean) * (2.0 * df / variance).sqrt();
    let p = match variance > 0.0 && df.is_finite() && statistic.is_finite() {
        true => gamma_tails(0.5 * df, 0.5 * input::amount(statistic)).1,
        false => 1.0,
    };
    (mean, p)
}

/// One stratum at the common ratio.
struct Part {
    /// Chances of being of the exposed, and events of each.
    shares: Vec<(f64, f64)>,
    /// Exposed events that are expected.
    expected: f64,
    /// Variance and third central moment of the exposed events.
    variance: f64,
    third: f64,
    /// Variance and third central moment of the squared gap.
    spread: f64,
    cube: f64,
}

impl Part {
    fn of(parts: &Vec<PersonTime>, log_ratio: f64) -> Part {
        let mut shares = Vec::with_capacity(parts.len());
        let mut expected = 0.0;
        // Cumulants of order 2, 3, 4 and 6: those of independent events add up.
        let mut sums = [0.0; 4];
        for part in parts {
            let (share, rest) = part.log_shares(log_ratio);
            let (p, q, n) = (share.exp(), rest.exp(), part.events());
            let pq = p * q;
            let own =
                [pq, pq * (q - p), pq * (1.0 - 6.0 * pq), pq * (1.0 - 30.0 * pq + 120.0 * pq * pq)];
            expected += n * p;
            sums.iter_mut().zip(own).for_each(|(sum, own)| *sum += n * own);
            shares.push((p, n));
        }
        let [variance, third, k4, k6] = sums;
        let fourth = k4 + 3.0 * variance * variance;
        let sixth = k6 + 15.0 * k4 * variance + 10.0 * third * third + 15.0 * variance.powi(3);
        Part {
            shares,
            expected,
            variance,
            third,
            spread: fourth - variance * variance,
            cube: sixth - 3.0 * fourth * variance + 2.0 * variance.powi(3),
        }
    }
}
