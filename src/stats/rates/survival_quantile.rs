//! A quantile of times of which some are only known to be longer, and their mean.
//!
//! Promises to need no shape of their distribution, and nothing of those that have ended yet. Stops where censoring
//! hangs on what the time would have been.

use crate::stats::estimate::{Estimate, Warning};
use crate::stats::special::input;
use crate::stats::special::quantile::normal_quantile;
use crate::stats::wald::Basis;

const METHOD: &str = "Kaplan-Meier";

/// Times at which something ended or was last seen, both counted.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Lasted {
    /// The time.
    pub time: f64,
    /// How many ended then.
    pub ended: u64,
    /// How many had not ended then, and were not seen longer.
    pub open: u64,
}

/// The curve after one time at which something ended.
struct Step {
    time: f64,
    /// Share that lasts longer, with its limits.
    survival: f64,
    low: f64,
    high: f64,
}

/// The curve, from times in any order; what was last seen at a time at which others ended lasted longer.
fn curve(times: &[Lasted], level: f64) -> Vec<Step> {
    let mut sorted: Vec<Lasted> =
        times.iter().copied().filter(|lasted| lasted.time.is_finite()).collect();
    sorted.sort_by(|a, b| a.time.total_cmp(&b.time));
    let reach = normal_quantile(level);
    let mut at_risk: f64 = sorted.iter().map(|t| t.ended as f64 + t.open as f64).sum();
    let (mut survival, mut greenwood) = (1.0_f64, 0.0_f64);
    let mut steps = Vec::new();
    for same in sorted.chunk_by(|a, b| a.time == b.time) {
        let ended: f64 = same.iter().map(|lasted| lasted.ended as f64).sum();
        let open: f64 = same.iter().map(|lasted| lasted.open as f64).sum();
        if ended > 0.0 {
            survival *= ((at_risk - ended) / at_risk).max(0.0);
            greenwood += ended / (at_risk * (at_risk - ended));
            // On the scale of log(-log S), which keeps limits between 0 and 1.
            let spread = reach * greenwood.sqrt() / survival.ln();
            let limit = |sign: f64| survival.powf((sign * spread).exp());
            let known = survival > 0.0 && survival < 1.0 && spread.is_finite();
            let (low, high) = if known {
                let (a, b) = (limit(1.0), limit(-1.0));
                (a.min(b), a.max(b))
            } else {
                (0.0, if survival > 0.0 { 1.0 } else { 0.0 })
            };
            steps.push(Step { time: same[0].time, survival, low, high });
        }
        at_risk -= ended + open;
    }
    steps
}

/// The time by which `share` (in (0, 1)) have ended; where the curve stays at just that share, the middle of the two times
/// about it. Missing, with `OneSided`, where fewer are seen to end; its limits likewise.
///
/// Source: Kaplan & Meier (1958), J. Am. Stat. Assoc. 53, 457-481; Brookmeyer & Crowley (1982), Biometrics 38, 29-41, on
/// the scale of log(-log S), Kalbfleisch & Prentice (2002), The Statistical Analysis of Failure Time Data, section 1.4
/// [section from memory].
pub fn survival_quantile(times: &[Lasted], share: f64, level: f64) -> Estimate {
    let sum = |of: fn(&Lasted) -> u64| times.iter().map(of).fold(0_u64, u64::saturating_add);
    let (ended, open) = (sum(|lasted| lasted.ended), sum(|lasted| lasted.open));
    let n = ended as f64 + open as f64;
    let mut basis = Basis { n, events: ended, level, method: METHOD, warnings: Vec::new() };
    if ended == 0 {
        basis.warnings.push(Warning::NoData);
        return basis.nothing();
    }
    let share = if share.is_nan() { 0.5 } else { share.clamp(1e-9, 1.0 - 1e-9) };
    let left = 1.0 - share;
    let steps = curve(times, level);
    let first = |of: &dyn Fn(&Step) -> f64| steps.iter().position(|s| of(s) <= left + 1e-12);
    let time = |at: Option<usize>| at.map(|at| steps[at].time);
    let at = first(&|step| step.survival);
    let value = at.map(|at| match steps.get(at + 1) {
        Some(next) if (steps[at].survival - left).abs() <= 1e-12 => {
            0.5 * steps[at].time + 0.5 * next.time
        }
        _ => steps[at].time,
    });
    let (low, high) = (time(first(&|step| step.low)), time(first(&|step| step.high)));
    if value.is_none() || high.is_none() {
        basis.warnings.push(Warning::OneSided);
    }
    let Some(value) = value else { return Estimate { low, ..basis.nothing() } };
    basis.limits(Some(value), low.map(|low| low.min(value)), high.map(|high| high.max(value)))
}

/// Mean time, of those that last longer than the longest that is seen only up to there: the area under the curve.
///
/// Source: as [`survival_quantile`]; restricted mean, Irwin (1949), J. Hyg. 47, 188-189 [from memory].
pub fn restricted_mean(times: &[Lasted]) -> Option<f64> {
    let is_seen = |lasted: &&Lasted| lasted.time.is_finite() && lasted.ended + lasted.open > 0;
    let last = times.iter().filter(is_seen).map(|lasted| lasted.time).reduce(f64::max)?;
    let (mut area, mut before, mut height) = (0.0, 0.0, 1.0);
    for step in curve(times, 0.95) {
        area += height * (step.time - before);
        (before, height) = (step.time, step.survival);
    }
    input::finite(area + height * (last - before))
}
