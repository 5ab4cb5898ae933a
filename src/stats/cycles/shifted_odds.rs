//! Trials until success when the odds of each are multiplied.
//!
//! Units try until they succeed, leave for another reason, or are censored. Multiplying the odds of
//! success at every trial leaves what does not succeed in its old proportions. Promises that a factor of
//! 1 gives back what was counted: censored units leave as they did, and what becomes of them later is the
//! caller's business. Stops at the last trial seen: nothing is extrapolated.
//!
//! Source: discrete-time hazards as in Singer & Willett (1993), J. Educ. Stat. 18, 155-195 [from memory];
//! proportional odds of the hazard as in Cox (1972), J. R. Stat. Soc. B 34, section 6 [section from memory].

use crate::stats::special::input;

/// How many units left after so many trials.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Exit {
    /// Units that succeeded at this trial.
    pub succeeded: u64,
    /// Units that were taken out after it.
    pub taken_out: u64,
    /// Units that gave up after it.
    pub gave_up: u64,
    /// Units that were not followed further.
    pub censored: u64,
}

/// What becomes of one unit on average.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Course {
    /// Expected trials a unit.
    pub trials: f64,
    /// Share of the units that are taken out, in [0, 1].
    pub taken_out: f64,
    /// Share of the units that give up, in [0, 1].
    pub gave_up: f64,
    /// Share of the units that are censored, in [0, 1].
    pub censored: f64,
}

/// The course under odds multiplied by `odds`, of units that left as `exits` say: those before any trial
/// first, then trial by trial. None without units.
pub fn course(exits: &[Exit], odds: f64) -> Option<Course> {
    let odds = if odds.is_finite() && odds >= 0.0 { odds } else { 1.0 };
    let all = |exit: &Exit| -> f64 {
        [exit.succeeded, exit.taken_out, exit.gave_up, exit.censored].map(|n| n as f64).iter().sum()
    };
    let mut at_risk: f64 = exits.iter().map(all).sum::<f64>();
    if at_risk <= 0.0 {
        return None;
    }
    let (mut found, mut left) = (Course::default(), 1.0);
    for (trial, exit) in exits.iter().enumerate() {
        if at_risk <= 0.0 {
            break;
        }
        let share = |n: u64| n as f64 / at_risk;
        let success = share(exit.succeeded).min(1.0);
        // Of the counts, not 1 - success: one unit in 10^12 would lose four of its digits there.
        let failure = ((at_risk - exit.succeeded as f64) / at_risk).max(0.0);
        if trial > 0 {
            found.trials += left;
        }
        // Better odds change nothing before the first trial. `rest` is what becomes of a share that does not succeed:
        // (1 - better) / failure, without the difference.
        let odds = if trial == 0 { 1.0 } else { odds };
        let whole = failure + odds * success;
        let (better, rest) =
            if failure > 0.0 { (odds * success / whole, 1.0 / whole) } else { (success, 0.0) };
        let [out, up, gone] =
            [exit.taken_out, exit.gave_up, exit.censored].map(|n| share(n) * rest);
        found.taken_out += left * out;
        found.gave_up += left * up;
        found.censored += left * gone;
        left *= (1.0 - better - out - up - gone).max(0.0);
        at_risk -= all(exit);
    }
    let finite = [found.trials, found.taken_out, found.gave_up, found.censored]
        .into_iter()
        .all(|x| input::finite(x).is_some());
    finite.then_some(found)
}
