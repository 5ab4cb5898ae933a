//! The top of the log-likelihood of `segment_likelihood` over hazards between 0 and a cap.
//!
//! Promises never to step downhill, to keep every hazard within its bounds, and to say whether it
//! arrived at a point where no allowed direction leads up. The surface is concave, so the top is the
//! only one.

use super::likelihood::{Pattern, derivatives, gain, hazards};
use crate::stats::special::cholesky::solve;

/// Largest hazard of a group at its largest exposure: its event is then certain to 17 digits.
pub(super) const CAP: f64 = 40.0;

/// Most steps; a usual fit takes under twenty.
const MOST_STEPS: u32 = 300;

/// Gain of the log-likelihood, as the quadratic model expects it, from which the next step is the
/// last: what is left after it is of the order of this squared.
const LAST: f64 = 1e-13;

/// Share of the expected gain that a step must keep.
const KEPT: f64 = 1e-4;

/// Where a climb ended.
#[derive(Clone, Debug)]
pub(super) struct Summit {
    pub at: Vec<f64>,
    /// Hazard of every pattern there.
    pub hazards: Vec<f64>,
    pub arrived: bool,
}

/// Climbs from `start`, holding the group `held` where it is. A group whose patterns have no event
/// goes to 0 at once.
///
/// Source: two-metric projection, Bertsekas (1982), SIAM J. Control Optim. 20, 221-246 [numbers from
/// memory].
pub(super) fn climb(patterns: &[Pattern], start: &[f64], held: Option<usize>) -> Summit {
    let size = start.len();
    let passes = |group: usize, pattern: &Pattern| pattern.exposure[group] > 0.0;
    let barren = |group: usize| {
        let passing = patterns.iter().filter(|pattern| passes(group, pattern));
        let (clean, events) = passing.fold((0.0, 0.0), |s, p| (s.0 + p.clean, s.1 + p.events));
        events <= 0.0 && clean > 0.0
    };
    let still: Vec<bool> = (0..size).map(|group| Some(group) == held || barren(group)).collect();
    let mut at: Vec<f64> = start.iter().map(|x| x.clamp(0.0, CAP)).collect();
    for group in (0..size).filter(|group| Some(*group) != held && still[*group]) {
        at[group] = 0.0;
    }
    let mut now = hazards(patterns, &at);
    let mut arrived = false;
    for _ in 0..MOST_STEPS {
        let step = Step::of(patterns, &at, &now, &still);
        let Some((next, found)) = step.taken(patterns, &at, &now) else {
            arrived = step.expected < LAST.sqrt();
            break;
        };
        (at, now) = (next, found);
        if step.expected < LAST {
            arrived = true;
            break;
        }
    }
    Summit { at, hazards: now, arrived }
}

/// One step of a climb.
struct Step {
    gradient: Vec<f64>,
    direction: Vec<f64>,
    /// Gain that the quadratic model expects within the bounds.
    expected: f64,
}

impl Step {
    fn of(patterns: &[Pattern], at: &[f64], now: &[f64], still: &[bool]) -> Step {
        let (gradient, information) = derivatives(patterns, now);
        let size = at.len();
        // Groups this near to a bound that the gradient presses against are moved on their own.
        let scale = |k: usize| information[k][k].max(1e-12);
        let reach = |k: usize| ((at[k] + gradient[k] / scale(k)).clamp(0.0, CAP) - at[k]).abs();
        let near = (0..size).filter(|k| !still[*k]).map(reach).fold(0.0, f64::max).min(1e-6);
        let pressed = |k: usize| {
            (at[k] <= near && gradient[k] < 0.0) || (at[k] >= CAP - near && gradient[k] > 0.0)
        };
        let free: Vec<usize> = (0..size).filter(|k| !still[*k] && !pressed(*k)).collect();
        let slopes: Vec<f64> = free.iter().map(|k| gradient[*k]).collect();
        let inner: Vec<Vec<f64>> =
            free.iter().map(|i| free.iter().map(|j| information[*i][*j]).collect()).collect();
        let mut direction = vec![0.0; size];
        let mut expected = 0.0;
        for (k, step) in free.iter().zip(newton(&inner, &slopes)) {
            direction[*k] = step;
            expected += gradient[*k] * step;
        }
        for k in (0..size).filter(|k| !still[*k] && pressed(*k)) {
            // Away to the bound itself.
            direction[k] = if gradient[k] < 0.0 { -at[k] } else { CAP - at[k] };
            expected += gradient[k] * direction[k];
        }
        Step { gradient, direction, expected }
    }

    /// The point along the projected direction that keeps a share of its promise, after at most sixty
    /// halvings.
    fn taken(&self, patterns: &[Pattern], at: &[f64], now: &[f64]) -> Option<(Vec<f64>, Vec<f64>)> {
        let mut share = 1.0;
        for _ in 0..60 {
            let next: Vec<f64> = at
                .iter()
                .zip(&self.direction)
                .map(|(x, step)| (x + share * step).clamp(0.0, CAP))
                .collect();
            let promised: f64 = self
                .gradient
                .iter()
                .zip(next.iter().zip(at))
                .map(|(slope, (next, at))| slope * (next - at))
                .sum();
            let found = hazards(patterns, &next);
            let gained = gain(patterns, now, &found);
            if gained.is_finite() && gained >= KEPT * promised.max(0.0) - 1e-15 {
                return Some((next, found));
            }
            share /= 2.0;
        }
        None
    }
}

/// Newton's step, damped where the information does not determine it. No direction is followed
/// beyond what the whole range allows.
fn newton(information: &[Vec<f64>], gradient: &[f64]) -> Vec<f64> {
    if gradient.is_empty() {
        return Vec::new();
    }
    let size = information.iter().enumerate().fold(1e-12_f64, |m, (i, row)| m.max(row[i]));
    let mut damping = 0.0;
    let mut step = gradient.to_vec();
    for _ in 0..80 {
        let mut damped = information.to_vec();
        (0..gradient.len()).for_each(|i| damped[i][i] += damping);
        if let Ok(solved) = solve(&damped, gradient) {
            step = solved;
            break;
        }
        damping = (damping * 8.0).max(1e-9 * size);
    }
    let longest = step.iter().fold(0.0_f64, |m, s| m.max(s.abs()));
    let scale = if longest > CAP { CAP / longest } else { 1.0 };
    step.iter().map(|s| s * scale).collect()
}
