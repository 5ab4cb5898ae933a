//! The root of an increasing function of one variable.
//!
//! Promises an answer inside the bracket it was given or grew. Stops at increasing functions.

/// Farthest that a bracket grows from zero; every caller works on a log scale, where this is
/// the range of a double.
const FARTHEST: f64 = 700.0;

/// Root of increasing `f`, whose bracket is grown from `start` by doubling steps of `step` up to
/// +-700; the end of that range if there is no change of sign before it.
pub fn root_from(f: impl Fn(f64) -> f64, start: f64, step: f64) -> f64 {
    let start = start.clamp(-FARTHEST, FARTHEST);
    let upward = f(start) < 0.0;
    let (mut near, mut step) = (start, step);
    loop {
        let far = if upward { (near + step).min(FARTHEST) } else { (near - step).max(-FARTHEST) };
        if (f(far) < 0.0) != upward {
            return root(&f, near.min(far), near.max(far));
        }
        if far.abs() >= FARTHEST {
            return far;
        }
        near = far;
        step *= 2.0;
    }
}

/// Root of increasing `f` between `lo` and `hi`, where `f(lo) <= 0 <= f(hi)`, to a few units in
/// the last place; the nearer end if there is no change of sign.
///
/// Source: Chandrupatla (1997), Adv. Eng. Softw. 28, 145-149 [from memory].
pub fn root(f: impl Fn(f64) -> f64, lo: f64, hi: f64) -> f64 {
    root_within(f, lo, hi, 1e-300)
}

/// As [`root`], but no closer than `within` of it.
pub fn root_within(f: impl Fn(f64) -> f64, lo: f64, hi: f64, within: f64) -> f64 {
    let (mut a, mut b) = (hi, lo);
    let (mut fa, mut fb) = (f(a), f(b));
    if fa <= 0.0 {
        return hi;
    }
    if fb >= 0.0 {
        return lo;
    }
    let mut t = 0.5;
    for _ in 0..200 {
        let x = a + t * (b - a);
        let fx = f(x);
        let (c, fc);
        if (fx < 0.0) == (fa < 0.0) {
            (c, fc) = (a, fa);
        } else {
            (c, fc) = (b, fb);
            (b, fb) = (a, fa);
        }
        (a, fa) = (x, fx);
        let best = if fa.abs() < fb.abs() { a } else { b };
        let reach = (4.0 * f64::EPSILON * best.abs() + within) / (b - a).abs();
        if reach > 0.5 || fa == 0.0 {
            return best;
        }
        t = interpolated(a, b, c, fa, fb, fc).clamp(reach, 1.0 - reach);
    }
    a
}

/// Share of the way from `a` to `b` of the next trial: inverse quadratic where that is safe,
/// half-way where it is not.
fn interpolated(a: f64, b: f64, c: f64, fa: f64, fb: f64, fc: f64) -> f64 {
    let xi = (a - b) / (c - b);
    let phi = (fa - fb) / (fc - fb);
    if phi * phi < xi && (1.0 - phi).powi(2) < 1.0 - xi {
        let t =
            fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb);
        if t.is_finite() { t } else { 0.5 }
    } else {
        0.5
    }
}
