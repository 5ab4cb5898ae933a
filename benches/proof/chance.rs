//! Random numbers of the shapes that invented count tables need, from one stream of draws.
//!
//! Promises the same numbers for the same stream. Stops at plain methods, whose cost grows with
//! the count: tables of proof are small.

use motetrail::synth::draw::Draw;
use std::f64::consts::TAU;

/// Standard normal.
///
/// Source: Box & Muller (1958), Ann. Math. Stat. 29, 610-611.
pub fn normal(draw: &mut Draw) -> f64 {
    (2.0 * draw.wait()).sqrt() * (TAU * draw.unit()).cos()
}

/// Gamma with `shape` above 0 and scale 1.
///
/// Source: Marsaglia & Tsang (2000), ACM Trans. Math. Softw. 26, 363-372.
pub fn gamma(draw: &mut Draw, shape: f64) -> f64 {
    if shape < 1.0 {
        let power = draw.unit().powf(1.0 / shape);
        return gamma(draw, shape + 1.0) * power;
    }
    let d = shape - 1.0 / 3.0;
    let c = 1.0 / (9.0 * d).sqrt();
    loop {
        let x = normal(draw);
        let v = (1.0 + c * x).powi(3);
        if v > 0.0 && -draw.wait() < 0.5 * x * x + d - d * v + d * v.ln() {
            return d * v;
        }
    }
}

/// Gamma with mean 1 and this variance; 1 where the variance is 0.
pub fn frailty(draw: &mut Draw, variance: f64) -> f64 {
    if variance > 0.0 { gamma(draw, 1.0 / variance) * variance } else { 1.0 }
}

/// Beta with both parameters above 0.
pub fn beta(draw: &mut Draw, a: f64, b: f64) -> f64 {
    let (x, y) = (gamma(draw, a), gamma(draw, b));
    if x + y > 0.0 { x / (x + y) } else { a / (a + b) }
}

/// Beta with this mean whose trials have this correlation; the mean itself where that is 0.
pub fn share(draw: &mut Draw, mean: f64, correlation: f64) -> f64 {
    if correlation <= 0.0 {
        return mean;
    }
    let size = 1.0 / correlation - 1.0;
    beta(draw, mean * size, (1.0 - mean) * size)
}

/// Poisson: events of a process of rate 1 within `mean`.
pub fn poisson(draw: &mut Draw, mean: f64) -> u64 {
    let mut count = 0;
    let mut left = mean - draw.wait();
    while left > 0.0 {
        count += 1;
        left -= draw.wait();
    }
    count
}

/// Successes of `n` trials.
pub fn binomial(draw: &mut Draw, n: u64, p: f64) -> u64 {
    (0..n).filter(|_| draw.chance(p)).count() as u64
}

/// Counts of one size or more that differ: 1 and an exponential rest, `mean` in all (about).
pub fn uneven(draw: &mut Draw, mean: f64) -> u64 {
    1 + ((mean - 0.5).max(0.0) * draw.wait()) as u64
}
