//! The slope inside strata against the dense regression with a column a stratum, and its errors by simulation.

use motetrail::stats::estimate::Warning;
use motetrail::stats::within::{WithinRow, within_slope};
use motetrail::synth::draw::Draw;

fn rows(draw: &mut Draw, slope: f64, luck: f64) -> Vec<WithinRow> {
    let mut rows = Vec::new();
    for cluster in 0..24 {
        let shared = luck * (draw.unit() - 0.5);
        let at = draw.unit();
        for stratum in 0..5 {
            let level = 0.1 + 0.05 * stratum as f64;
            let n = draw.between(0, 30) as u64;
            let p = level + slope * at + shared;
            let events = (0..n).filter(|_| draw.chance(p)).count() as u64;
            rows.push(WithinRow { stratum, cluster, n, events, at });
        }
    }
    rows
}

/// Solves a small dense system by elimination.
fn solved(mut a: Vec<Vec<f64>>, mut b: Vec<f64>) -> Vec<f64> {
    let n = b.len();
    for at in 0..n {
        let pivot = (at..n).max_by(|p, q| a[*p][at].abs().total_cmp(&a[*q][at].abs())).unwrap();
        a.swap(at, pivot);
        b.swap(at, pivot);
        for below in at + 1..n {
            let factor = a[below][at] / a[at][at];
            let pivot = a[at].clone();
            for (cell, above) in a[below].iter_mut().zip(&pivot).skip(at) {
                *cell -= factor * above;
            }
            b[below] -= factor * b[at];
        }
    }
    for at in (0..n).rev() {
        for above in at + 1..n {
            b[at] -= a[at][above] * b[above];
        }
        b[at] /= a[at][at];
    }
    b
}

#[test]
fn slope_and_error_are_those_of_the_dense_weighted_regression() {
    let rows = rows(&mut Draw::seeded(3), -0.08, 0.05);
    let width = 6;
    let design = |row: &WithinRow| {
        let mut x = vec![0.0; width];
        x[row.stratum as usize] = 1.0;
        x[5] = row.at;
        x
    };
    let (mut cross, mut right) = (vec![vec![0.0; width]; width], vec![0.0; width]);
    for row in &rows {
        let x = design(row);
        for i in 0..width {
            right[i] += x[i] * row.events as f64;
            for j in 0..width {
                cross[i][j] += row.n as f64 * x[i] * x[j];
            }
        }
    }
    let coefficients = solved(cross.clone(), right);
    // Row of the inverse that belongs to the slope.
    let mut unit = vec![0.0; width];
    unit[5] = 1.0;
    let bread = solved(cross, unit);
    let mut scores = [0.0; 24];
    for row in &rows {
        let x = design(row);
        let fitted: f64 = x.iter().zip(&coefficients).map(|(x, b)| x * b).sum();
        let residual = row.events as f64 - row.n as f64 * fitted;
        scores[row.cluster as usize] +=
            residual * x.iter().zip(&bread).map(|(x, b)| x * b).sum::<f64>();
    }
    let squares: f64 = scores.iter().map(|u| u * u).sum();
    let error = (24.0 / 23.0 * squares).sqrt();
    let got = within_slope(&rows, 0.95);
    let (value, high) = (got.slope.value.unwrap(), got.slope.high.unwrap());
    assert!((value - coefficients[5]).abs() < 1e-10, "{value} not {}", coefficients[5]);
    // A cluster's part of the spread, from the slope's own direction with the levels swept out: the residual of the
    // last column on the levels.
    let mut parts = [0.0; 24];
    for row in &rows {
        let x = design(row);
        let direction = x.iter().zip(&bread).map(|(x, b)| x * b).sum::<f64>() / bread[5];
        parts[row.cluster as usize] += row.n as f64 * direction * direction;
    }
    let (sum, squares): (f64, f64) = (parts.iter().sum(), parts.iter().map(|w| w * w).sum());
    let df = sum * sum / squares - 1.0;
    assert!((got.df - df).abs() < 1e-6, "{} not {df}", got.df);
    // Student's t of 10 degrees of freedom is 2.228, of 11 it is 2.201 (any table).
    let t = (high - value) / error;
    assert!((10.0..11.0).contains(&df) && (2.201..2.228).contains(&t), "{t} errors, {df}");
    assert_eq!(got.clusters, 24);
}

#[test]
fn a_share_that_does_not_move_is_called_moving_as_rarely_as_promised() {
    let mut draw = Draw::seeded(11);
    let (mut called, mut held) = (0, 0);
    for _ in 0..600 {
        let found = within_slope(&rows(&mut draw, 0.0, 0.15), 0.95);
        called += u32::from(found.p.unwrap() < 0.05);
        held += u32::from(found.slope.low.unwrap() <= 0.0 && found.slope.high.unwrap() >= 0.0);
    }
    // Three Monte Carlo errors of .05 are .027.
    assert!((12..=47).contains(&called), "{called} of 600");
    assert_eq!(called + held, 600, "p and interval say the same");
}

#[test]
fn what_does_not_move_says_nothing() {
    let row = |stratum, at| WithinRow { stratum, cluster: stratum, n: 10, events: 3, at };
    // A level for each stratum takes all that differs between them.
    let found = within_slope(&[row(0, 0.2), row(0, 0.2), row(1, 0.7)], 0.95);
    assert_eq!((found.slope.value, found.p), (None, None));
    assert!(found.slope.warnings.contains(&Warning::NoData));
    let found = within_slope(&[], 0.95);
    assert!(found.slope.warnings.contains(&Warning::NoData));
    let spoilt = WithinRow { stratum: 0, cluster: 9, n: 4, events: 9, at: f64::NAN };
    let one = within_slope(&[row(0, 0.2), WithinRow { cluster: 5, ..row(0, 0.9) }, spoilt], 0.95);
    assert!(one.slope.value.is_some_and(f64::is_finite));
}
