//! Agreement of raters beyond chance: Cohen's and Fleiss' kappa.
//!
//! Promises no value where chance agreement is already complete. Stops at unordered categories.

use crate::stats::estimate::{Estimate, Warning};
use crate::stats::wald::Basis;
use std::collections::BTreeMap;

/// Subjects below which the large-sample errors are flagged.
const FEW_SUBJECTS: f64 = 20.0;

/// Kappa with its error if there were no agreement beyond chance.
#[derive(Clone, Debug, PartialEq)]
pub struct Kappa {
    /// Kappa with its Wald interval, limits within `[-1, 1]`; `n` counts subjects, `events` those
    /// on whom all raters agree.
    pub kappa: Estimate,
    /// Standard error of the interval; `None` where kappa has no value.
    pub standard_error: Option<f64>,
    /// Standard error if there were no agreement beyond chance: for the test.
    pub null_error: Option<f64>,
}

/// Subjects that were rated alike.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Rated {
    /// How many raters chose each category.
    pub votes: Vec<u64>,
    /// Subjects with these votes.
    pub subjects: u64,
}

/// Cohen's kappa of two raters: `table[i][j]` subjects got category `i` from the first and `j` from
/// the second.
///
/// Missing cells of a ragged table are 0. No subjects: `NoData`; one category only: `Boundary`.
///
/// Source: Cohen (1960), Educ. Psychol. Meas. 20, 37-46; Fleiss, Cohen & Everitt (1969), Psychol.
/// Bull. 72, 323-327, equations 13 and 14 (errors) [equation numbers from memory].
pub fn cohen(table: &[Vec<u64>], level: f64) -> Kappa {
    let n: f64 = table.iter().flatten().map(|c| *c as f64).sum();
    let widest = table.iter().map(Vec::len).max().unwrap_or(0);
    let order = widest.max(table.len());
    let mut shares = vec![vec![0.0; order]; order];
    for (row, counts) in shares.iter_mut().zip(table) {
        for (share, count) in row.iter_mut().zip(counts) {
            *share = *count as f64 / n;
        }
    }
    let first: Vec<f64> = shares.iter().map(|row| row.iter().sum()).collect();
    let second: Vec<f64> = (0..order).map(|j| shares.iter().map(|row| row[j]).sum()).collect();
    let seen: f64 = (0..order).map(|i| shares[i][i]).sum();
    // Disagreement is summed, not taken from 1: near complete agreement that would lose its digits.
    let apart = off_diagonal(order, |i, j| shares[i][j]);
    let by_chance = off_diagonal(order, |i, j| first[i] * second[j]);
    let kappa = 1.0 - apart / by_chance;
    let (variance, null) = cohen_variances(&shares, &first, &second, kappa);
    let error = |variance: f64| (variance.max(0.0) / n).sqrt() / by_chance;
    let of = Agreed { n, agreed: (seen * n).round() as u64, method: "Cohen's kappa" };
    of.kappa(kappa, error(variance), error(null), level)
}

/// Variances for one subject, but for the factor `1 / (1 - chance)^2`: of the interval and without
/// agreement beyond chance.
fn cohen_variances(shares: &[Vec<f64>], first: &[f64], second: &[f64], kappa: f64) -> (f64, f64) {
    let (chance, kept) = (dot(first, second), 1.0 - kappa);
    let (mut diagonal, mut cross, mut null) = (0.0, 0.0, 0.0);
    for (i, row) in shares.iter().enumerate() {
        let sum = first[i] + second[i];
        null += first[i] * second[i] * sum;
        for (j, share) in row.iter().enumerate() {
            if i == j {
                diagonal += share * (1.0 - sum * kept).powi(2);
            } else {
                cross += share * (second[i] + first[j]).powi(2);
            }
        }
    }
    let variance = diagonal + kept * kept * cross - (kappa - chance * kept).powi(2);
    (variance, chance + chance * chance - null)
}

/// Fleiss' kappa of a fixed number of raters a subject, who need not be the same people.
///
/// Subjects with fewer than two votes tell nothing; among the rest only those with the commonest
/// number of votes count (the larger at a tie). The interval's error is the linearised one over
/// subjects; the null error is that of Fleiss, Nee & Landis.
///
/// Source: Fleiss (1971), Psychol. Bull. 76, 378-382; Fleiss, Nee & Landis (1979), Psychol. Bull.
/// 86, 974-977 (null error); Gwet (2008), Br. J. Math. Stat. Psychol. 61, 29-48 (linearised error)
/// [equations from memory].
pub fn fleiss(rated: &[Rated], level: f64) -> Kappa {
    let raters = commonest_votes(rated);
    let used: Vec<&Rated> = rated.iter().filter(|r| r.raters() == raters).collect();
    let n: f64 = used.iter().map(|r| r.subjects as f64).sum();
    let mean = |of: &dyn Fn(&Rated) -> f64| {
        used.iter().map(|r| r.subjects as f64 * of(r)).sum::<f64>() / n
    };
    let order = used.iter().map(|r| r.votes.len()).max().unwrap_or(0);
    let overall: Vec<f64> = (0..order).map(|j| mean(&|r| r.share(j))).collect();
    let apart = mean(&Rated::differing_pairs);
    let by_chance = off_diagonal(order, |i, j| overall[i] * overall[j]);
    let kappa = 1.0 - apart / by_chance;
    let influence = |r: &Rated| {
        let shares = overall.iter().enumerate();
        let by_share: f64 = shares.map(|(j, p)| p * (r.share(j) - p)).sum();
        (apart - r.differing_pairs() - 2.0 * (1.0 - kappa) * by_share) / by_chance
    };
    let error = (mean(&|r| influence(r).powi(2)) / (n - 1.0)).sqrt();
    let unanimous = used.iter().filter(|r| r.votes.contains(&raters));
    let of = Agreed {
        n,
        agreed: unanimous.fold(0, |sum, r| sum.saturating_add(r.subjects)),
        method: "Fleiss' kappa",
    };
    let null = fleiss_null_error(&overall, n, raters as f64);
    of.kappa(kappa, error, null, level)
}

/// Standard error of Fleiss' kappa without agreement beyond chance.
fn fleiss_null_error(overall: &[f64], n: f64, raters: f64) -> f64 {
    let free: f64 = overall.iter().map(|p| p * (1.0 - p)).sum();
    let skew = overall.iter().map(|p| p * (1.0 - p) * (1.0 - 2.0 * p));
    let scatter = (free * free - skew.sum::<f64>()).max(0.0);
    (2.0 * scatter / (n * raters * (raters - 1.0))).sqrt() / free
}

impl Rated {
    fn raters(&self) -> u64 {
        self.votes.iter().fold(0, |sum: u64, v| sum.saturating_add(*v))
    }

    fn share(&self, category: usize) -> f64 {
        let votes = self.votes.get(category).copied().unwrap_or(0);
        votes as f64 / self.raters() as f64
    }

    /// Share of pairs of raters that differ.
    fn differing_pairs(&self) -> f64 {
        let votes = |j: usize| self.votes[j] as f64;
        let raters = self.raters() as f64;
        off_diagonal(self.votes.len(), |i, j| votes(i) * votes(j)) / (raters * (raters - 1.0))
    }
}

/// Sum over all ordered pairs of different categories.
fn off_diagonal(order: usize, cell: impl Fn(usize, usize) -> f64) -> f64 {
    let row = |i: usize| (0..order).filter(|j| *j != i).map(|j| cell(i, j)).sum::<f64>();
    (0..order).map(row).sum()
}

fn commonest_votes(rated: &[Rated]) -> u64 {
    let mut counts = BTreeMap::new();
    for r in rated {
        if r.raters() >= 2 && r.subjects > 0 {
            let count = counts.entry(r.raters()).or_insert(0_u64);
            *count = count.saturating_add(r.subjects);
        }
    }
    counts.into_iter().max_by_key(|(votes, subjects)| (*subjects, *votes)).map_or(0, |best| best.0)
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// Subjects that a kappa rests on.
struct Agreed {
    n: f64,
    agreed: u64,
    method: &'static str,
}

impl Agreed {
    fn kappa(self, kappa: f64, error: f64, null: f64, level: f64) -> Kappa {
        let mut warnings = Vec::new();
        if self.n == 0.0 {
            warnings.push(Warning::NoData);
        } else if !kappa.is_finite() {
            warnings.push(Warning::Boundary);
        } else if self.n < FEW_SUBJECTS {
            warnings.push(Warning::Approximate);
        }
        let basis = Basis { n: self.n, events: self.agreed, level, method: self.method, warnings };
        let known = |x: f64| (kappa.is_finite() && x.is_finite()).then_some(x);
        let mut estimate =
            if kappa.is_finite() { basis.plain(kappa, error) } else { basis.nothing() };
        estimate.low = estimate.low.map(|x| x.max(-1.0));
        estimate.high = estimate.high.map(|x| x.min(1.0));
        Kappa { kappa: estimate, standard_error: known(error), null_error: known(null) }
    }
}
