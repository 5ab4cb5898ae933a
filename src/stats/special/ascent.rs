//! The top of a smooth log-likelihood of one or a few parameters.
//!
//! Promises never to step downhill and to say whether it arrived. Stops at local tops: the caller
//! chooses the start and scales the parameters so that one unit is a sensible step.

use super::cholesky::{dot, inverse_of};

/// Most Newton steps; a well-scaled fit takes under fifteen.
const MOST_STEPS: u32 = 200;

/// Step, in the caller's units, from which the top counts as reached.
const ARRIVED: f64 = 1e-9;

/// Longest step in one direction: on a log scale a factor of e squared.
const LONGEST: f64 = 2.0;

/// Half width of the differences that the curvature is made of: the cube root of a double's
/// precision, which balances the error of the formula against that of rounding.
const WIDTH: f64 = 6e-6;

/// Where the climb ended.
#[derive(Clone, Debug)]
pub struct Top<const ORDER: usize> {
    /// Parameters at the top.
    pub at: [f64; ORDER],
    /// Log-likelihood at the top.
    pub value: f64,
    /// Whether the last step was short enough.
    pub arrived: bool,
}

/// Climbs from `start` by Newton steps, damped where the surface is not concave and halved where
/// they overshoot. `f` gives value and gradient.
///
/// Source: Nocedal & Wright (2006), Numerical Optimization, 2nd ed., sections 3.4 and 3.5.
pub fn ascend<const ORDER: usize>(
    start: [f64; ORDER],
    f: impl Fn(&[f64; ORDER]) -> (f64, [f64; ORDER]),
) -> Top<ORDER> {
    ascend_by(start, &f, |at| f(at).1)
}

/// The same where the gradient alone, which the curvature is made of, is cheaper to have than with the value.
pub fn ascend_by<const ORDER: usize>(
    start: [f64; ORDER],
    f: impl Fn(&[f64; ORDER]) -> (f64, [f64; ORDER]),
    gradient_at: impl Fn(&[f64; ORDER]) -> [f64; ORDER],
) -> Top<ORDER> {
    let mut at = start;
    let (mut value, mut gradient) = f(&at);
    let mut arrived = false;
    for _ in 0..MOST_STEPS {
        let step = newton_step(&information(&at, &gradient_at), &gradient);
        let length = step.iter().fold(0.0_f64, |m, s| m.max(s.abs()));
        let Some(next) = uphill(&at, value, &step, &f) else {
            arrived = length < ARRIVED.sqrt();
            break;
        };
        (at, value, gradient) = next;
        if length < ARRIVED {
            arrived = true;
            break;
        }
    }
    Top { at, value, arrived }
}

/// The whole number within `range` where `value` is largest: a start for a parameter of which nothing
/// is known but its range.
pub fn best_start(range: (f64, f64), value: impl Fn(f64) -> f64) -> f64 {
    (range.0 as i32..=range.1 as i32)
        .map(|at| (f64::from(at), value(f64::from(at))))
        .max_by(|x, y| x.1.total_cmp(&y.1))
        .map_or(range.0, |best| best.0)
}

/// The point along `step` that is no lower than `value` but for rounding, after at most forty
/// halvings, with value and gradient there.
fn uphill<const ORDER: usize>(
    at: &[f64; ORDER],
    value: f64,
    step: &[f64; ORDER],
    f: &impl Fn(&[f64; ORDER]) -> (f64, [f64; ORDER]),
) -> Option<([f64; ORDER], f64, [f64; ORDER])> {
    let slack = 1e-13 * value.abs();
    let mut share = 1.0;
    for _ in 0..40 {
        let next: [f64; ORDER] = std::array::from_fn(|i| at[i] + share * step[i]);
        let (reached, gradient) = f(&next);
        if reached >= value - slack {
            return Some((next, reached, gradient));
        }
        share /= 2.0;
    }
    None
}

fn newton_step<const ORDER: usize>(
    information: &[[f64; ORDER]; ORDER],
    gradient: &[f64; ORDER],
) -> [f64; ORDER] {
    let size = information.iter().flatten().fold(1e-12_f64, |m, x| m.max(x.abs()));
    let mut damping = 0.0;
    let mut step = *gradient;
    for _ in 0..60 {
        let mut damped = *information;
        (0..ORDER).for_each(|i| damped[i][i] += damping);
        if let Ok(inverse) = inverse_of(&damped) {
            step = inverse.map(|row| dot(&row, gradient));
            break;
        }
        damping = (damping * 4.0).max(1e-6 * size);
    }
    let longest = step.iter().fold(0.0_f64, |m, s| m.max(s.abs()));
    let scale = if longest > LONGEST { LONGEST / longest } else { 1.0 };
    step.map(|s| s * scale)
}

/// Negative second derivatives, from differences of the gradient.
pub fn information<const ORDER: usize>(
    at: &[f64; ORDER],
    gradient_at: &impl Fn(&[f64; ORDER]) -> [f64; ORDER],
) -> [[f64; ORDER]; ORDER] {
    let mut out = [[0.0; ORDER]; ORDER];
    let mut near = *at;
    for col in 0..ORDER {
        let (left, right) = (at[col] - WIDTH, at[col] + WIDTH);
        near[col] = left;
        let below = gradient_at(&near);
        near[col] = right;
        let above = gradient_at(&near);
        near[col] = at[col];
        for row in 0..ORDER {
            let slope = (below[row] - above[row]) / (right - left);
            out[row][col] += slope / 2.0;
            out[col][row] += slope / 2.0;
        }
    }
    out
}
