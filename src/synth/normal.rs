//! The standard normal distribution, as exactly as inventing needs it.

/// Probability below `x`: Abramowitz & Stegun (1964), 26.2.17, off by less than 7.5e-8.
pub fn below(x: f64) -> f64 {
    let t = 1.0 / (1.0 + 0.231_641_9 * x.abs());
    let series = [0.319_381_530, -0.356_563_782, 1.781_477_937, -1.821_255_978, 1.330_274_429];
    let sum = series.iter().rev().fold(0.0, |sum, term| (sum + term) * t);
    let above = (-0.5 * x * x).exp() / (2.0 * std::f64::consts::PI).sqrt() * sum;
    if x < 0.0 { above } else { 1.0 - above }
}

/// The number below which the share `p` lies; finite for any `p`.
///
/// Bisection is too slow where every event asks: Wichura (1988), Applied Statistics 37, 477-484, PPND7, seven digits
/// [coefficients from memory; a test holds them against [`below`]].
pub fn quantile(p: f64) -> f64 {
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        let r = 0.180_625 - q * q;
        let top = ((59.109_374_72 * r + 159.291_132_02) * r + 50.434_271_938) * r + 3.387_132_717_9;
        let bottom = ((67.187_563_6 * r + 78.757_757_664) * r + 17.895_169_469) * r + 1.0;
        return q * top / bottom;
    }
    let tail = if q < 0.0 { p } else { 1.0 - p };
    let r = (-tail.max(1e-300).ln()).sqrt();
    let size = if r <= 5.0 {
        let r = r - 1.6;
        let top = ((0.170_238_21 * r + 1.306_728_461_6) * r + 2.756_815_39) * r + 1.423_437_277_7;
        top / ((0.120_211_32 * r + 0.737_001_643_1) * r + 1.0)
    } else {
        let r = r - 5.0;
        let top = ((0.017_337_203_6 * r + 0.428_682_949_1) * r + 3.081_226_386) * r + 6.657_905_115;
        top / ((0.012_258_202_64 * r + 0.241_978_942_2) * r + 1.0)
    };
    size.copysign(q)
}
