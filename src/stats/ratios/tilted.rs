//! Replicates of a log ratio of rates that share their resampled clusters with other statistics.
//!
//! The estimating function of the data is tilted by what the resampled clusters add to it, and solved
//! again: strata keep their person-time. Resampling the strata themselves would make them sparser than
//! they are, and so shift the ratios of fleets whose strata hold an event or two. Promises a finite
//! answer. Stops at one ratio.

use super::cell_likelihood::HIGHEST;
use super::person_time::PersonTime;

/// Log ratios beyond this have no meaning here, as in `random_effects`.
const FURTHEST: f64 = HIGHEST;
const MOST_STEPS: usize = 60;
/// Steps in which the first guess is found.
const MOST_GUESSES: usize = 4;
/// How far a guess goes from the start.
const FAR_GUESS: f64 = 1.0;
/// A step this small ends the search: what is left is of the order of its cube.
const TOLERANCE: f64 = 1e-5;
/// A step this small goes by the curve, too.
const NEAR: f64 = 0.1;

/// A normal prior of a log ratio.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NormalPrior {
    /// Mean of the log ratio.
    pub mean: f64,
    /// Standard deviation of the log ratio, above 0.
    pub deviation: f64,
}

/// The log ratio at which the score of the strata, the pull of the prior and `tilt` balance, within
/// [-6, 6]. `tilt` is the sum over clusters of weight less one, times the cluster's score
/// (`stratified_poisson::cluster_scores`).
///
/// Without prior and tilt it is the conditional maximum-likelihood estimate. With a prior whose mean is
/// drawn from it anew in every replicate, the replicates hold both the scatter of the counts and what the
/// prior leaves open; exact for a normal likelihood.
///
/// Source: estimating-function bootstrap Hu & Kalbfleisch (2000), Can. J. Stat. 28, 449-481; drawn prior
/// mean: randomized maximum likelihood, Oliver, He & Reynolds (1996), ECMOR V [both from memory].
pub fn tilted_log(strata: &[PersonTime], tilt: f64, start: f64, prior: Option<NormalPrior>) -> f64 {
    Balance::of(strata, start).tilted_log(tilt, prior)
}

/// Strata that are worked out side by side.
const BESIDE: usize = 4;

/// What strata expect of the exposed at a log ratio: events, and the first two derivatives of them.
type Expected = [f64; 3];

/// Strata whose score is balanced many times: see [`tilted_log`].
#[derive(Clone, Debug)]
pub struct Balance {
    /// Time of the reference over that of the exposed, and events of both, of strata that say something.
    parts: Vec<([f64; BESIDE], [f64; BESIDE])>,
    /// Events of the exposed.
    exposed: f64,
    /// Where the search begins, what is expected there, and the third derivative of it.
    start: f64,
    at_start: (Expected, f64),
}

impl Balance {
    /// Of these strata; the search begins at `start`, best near what will be found.
    pub fn of(strata: &[PersonTime], start: f64) -> Balance {
        let telling: Vec<&PersonTime> =
            strata.iter().filter(|stratum| stratum.is_informative()).collect();
        // Places that no stratum takes have no events.
        let part = |some: &[&PersonTime]| {
            let mut part = ([1.0; BESIDE], [0.0; BESIDE]);
            for (at, stratum) in some.iter().enumerate() {
                part.0[at] = stratum.t0 / stratum.t1;
                part.1[at] = stratum.events();
            }
            part
        };
        let mut balance = Balance {
            parts: telling.chunks(BESIDE).map(part).collect(),
            exposed: telling.iter().map(|stratum| stratum.d1 as f64).sum(),
            start: start.clamp(-FURTHEST, FURTHEST),
            at_start: ([0.0; 3], 0.0),
        };
        balance.at_start = (balance.expected(balance.start), balance.third(balance.start));
        balance
    }

    /// See the function of this name.
    pub fn tilted_log(&self, tilt: f64, prior: Option<NormalPrior>) -> f64 {
        let precision = prior.map_or(0.0, |prior| prior.deviation.max(1e-6).powi(-2));
        let mean = prior.map_or(0.0, |prior| prior.mean.clamp(-FURTHEST, FURTHEST));
        let pull = |at: f64| tilt + (mean - at) * precision + self.exposed;
        let mut at = self.guess(&pull, precision);
        for _ in 0..MOST_STEPS {
            let [expected, first, second] = self.expected(at);
            let (slope, bend) = (pull(at) - expected, precision + first);
            if bend <= 0.0 || !slope.is_finite() {
                break;
            }
            let step = bounded_step(slope, bend, second);
            let before = at;
            at = (at + step).clamp(-FURTHEST, FURTHEST);
            if (at - before).abs() < TOLERANCE {
                break;
            }
        }
        at
    }

    /// Where the balance is if what is expected is the cubic that it is like at the start.
    fn guess(&self, pull: &impl Fn(f64) -> f64, precision: f64) -> f64 {
        let ([value, first, second], third) = self.at_start;
        let mut far = 0.0;
        for _ in 0..MOST_GUESSES {
            let expected = value + far * (first + far * (second / 2.0 + far * third / 6.0));
            let (slope, bend) = (
                pull(self.start + far) - expected,
                precision + first + far * (second + far * third / 2.0),
            );
            if bend <= 0.0 || !slope.is_finite() {
                return self.start;
            }
            let step = slope / bend;
            far += step;
            if far.abs() > FAR_GUESS {
                // The cubic is not to be trusted there.
                return (self.start + far.clamp(-FAR_GUESS, FAR_GUESS)).clamp(-FURTHEST, FURTHEST);
            }
            if step.abs() < TOLERANCE {
                break;
            }
        }
        (self.start + far).clamp(-FURTHEST, FURTHEST)
    }

    fn expected(&self, log_ratio: f64) -> Expected {
        let ratio = log_ratio.exp();
        let mut sums = [[0.0; BESIDE]; 3];
        for (other, events) in &self.parts {
            for at in 0..BESIDE {
                let share = ratio / (ratio + other[at]);
                let expected = events[at] * share;
                let first = expected * (1.0 - share);
                sums[0][at] += expected;
                sums[1][at] += first;
                sums[2][at] += first * (1.0 - 2.0 * share);
            }
        }
        sums.map(|beside| beside.iter().sum())
    }

    /// The third derivative of what is expected.
    fn third(&self, log_ratio: f64) -> f64 {
        let ratio = log_ratio.exp();
        let term = |other: f64, events: f64| {
            let share = ratio / (ratio + other);
            let spread = share * (1.0 - share);
            events * spread * (1.0 - 6.0 * spread)
        };
        let parts = self.parts.iter().flat_map(|(other, events)| other.iter().zip(events));
        parts.map(|(other, events)| term(*other, *events)).sum()
    }
}

/// A step to where the slope is 0: Halley's near it, where each step has three times as many digits right, Newton's
/// elsewhere. A step of one in the log keeps the search where the curve is like its tangent.
fn bounded_step(slope: f64, bend: f64, second: f64) -> f64 {
    let newton = slope / bend;
    let step = match newton.abs() < NEAR {
        true => newton / (1.0 + newton * second / (2.0 * bend)),
        false => newton,
    };
    step.clamp(-1.0, 1.0)
}
