//! The posterior of random effects by plain sums over every spread, every mean and every log ratio.
//! Shares no code with what it checks.

use motetrail::stats::person_time::PersonTime;

/// Masses of the posterior.
pub struct PlainSums {
    /// Mass of each log ratio, a cell a row.
    pub cells: Vec<Vec<f64>>,
    /// Mass of each mean.
    pub mu: Vec<f64>,
    /// Mass of each spread.
    pub tau: Vec<f64>,
}

/// Chance of a cell to stand apart, and the deviation of its log ratio about the mean.
const APART: (f64, f64) = (0.15, 1.5);

pub const X_STEP: f64 = 0.02;
pub const MU_STEP: f64 = 0.05;
pub const TAU_STEP: f64 = 0.05;

pub fn plain_sums(cells: &[Vec<PersonTime>], scale: f64) -> PlainSums {
    let x: Vec<f64> = (0..=600).map(|i| -6.0 + X_STEP * f64::from(i)).collect();
    let likelihood = |cell: &Vec<PersonTime>, x: f64| -> f64 {
        let term = |s: &PersonTime| {
            let share = x.exp() * s.t1 / (x.exp() * s.t1 + s.t0);
            share.powi(s.d1 as i32) * (1.0 - share).powi(s.d0 as i32)
        };
        cell.iter().map(term).product()
    };
    let tables: Vec<Vec<f64>> =
        cells.iter().map(|c| x.iter().map(|&x| likelihood(c, x)).collect()).collect();
    let mut sums = PlainSums {
        cells: vec![vec![0.0; x.len()]; cells.len()],
        mu: vec![0.0; 161],
        tau: vec![0.0; 40],
    };
    for k in 0..40 {
        let tau = TAU_STEP * (f64::from(k) + 0.5);
        for m in 0..161 {
            let mu = -4.0 + MU_STEP * f64::from(m);
            let bell = |deviation: f64| -> Vec<f64> {
                let at = |x: &f64| (-0.5 * ((x - mu) / deviation).powi(2)).exp();
                let bell: Vec<f64> = x.iter().map(at).collect();
                let whole: f64 = bell.iter().sum();
                bell.iter().map(|height| height / whole).collect()
            };
            let (near, far) = (bell(tau), bell(APART.1));
            let mixed = |(near, far): (&f64, &f64)| (1.0 - APART.0) * near + APART.0 * far;
            let prior: Vec<f64> = near.iter().zip(&far).map(mixed).collect();
            let product = |t: &Vec<f64>| t.iter().zip(&prior).map(|(l, b)| l * b).sum::<f64>();
            let parts: Vec<f64> = tables.iter().map(product).collect();
            let joint = parts.iter().product::<f64>() * (-0.5 * (tau / scale).powi(2)).exp();
            sums.mu[m as usize] += joint;
            sums.tau[k as usize] += joint;
            for (c, row) in sums.cells.iter_mut().enumerate() {
                for (i, cell) in row.iter_mut().enumerate() {
                    *cell += joint / parts[c] * tables[c][i] * prior[i];
                }
            }
        }
    }
    sums
}

/// Quantile of masses in steps from `lo`, each spread evenly over its own step.
pub fn plain_quantile(masses: &[f64], lo: f64, step: f64, p: f64) -> f64 {
    let mut left = p * masses.iter().sum::<f64>();
    for (i, mass) in masses.iter().enumerate() {
        if left < *mass {
            return lo + step * (i as f64 - 0.5 + left / mass);
        }
        left -= mass;
    }
    unreachable!("p is below 1")
}
