//! When to stop trying: expected cost of giving up after each number of trials, and the least of them.
//!
//! A unit is tried until it succeeds, is lost, or is given up; every trial has its price, and a unit
//! lost or given up has another. Chances depend on the number of the trial alone. Promises that the
//! least of the costs is the value of the best rule of any kind. Stops at finitely many trials.

use crate::stats::special::input;

/// What a trial may bring, among the units that come to it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Chances {
    /// Chance of success, in `[0, 1]`.
    pub success: f64,
    /// Chance that the unit is lost at the trial, in `[0, 1 - success]`.
    pub loss: f64,
}

impl Chances {
    /// In range: what is not a number has no chance; a loss takes what success leaves.
    fn sound(self) -> Chances {
        let success = input::amount(self.success).min(1.0);
        Chances { success, loss: input::amount(self.loss).min(1.0 - success) }
    }

    /// Chance of neither.
    fn going_on(self) -> f64 {
        (1.0 - self.success - self.loss).max(0.0)
    }
}

/// The best number of trials.
#[derive(Clone, Debug, PartialEq)]
pub struct StoppingRule {
    /// Trials after which giving up costs least; 0: not even the first pays. Of equal costs the fewer.
    pub limit: usize,
    /// Expected cost of a unit under the best rule, in the prices' unit.
    pub value: f64,
    /// Expected cost of a unit that is given up after 0, 1, 2, ... trials, in the prices' unit.
    pub costs: Vec<f64>,
}

/// Solves `V_k = min(R, c + loss R + (1 - success - loss) V_(k+1))` backwards from R after the last
/// trial; `chances[k - 1]` belong to trial `k`, `trial` is `c` and `given_up` is `R`, both at least 0.
///
/// Source: backward induction, Bellman (1957), Dynamic Programming, chapter 1; Chow, Robbins &
/// Siegmund (1971), Great Expectations, section 3.2 [places from memory].
pub fn stopping_rule(chances: &[Chances], trial: f64, given_up: f64) -> StoppingRule {
    let (trial, given_up) = (input::amount(trial), input::amount(given_up));
    let (mut value, mut limit) = (given_up, 0);
    for (k, chance) in chances.iter().enumerate().rev() {
        let chance = chance.sound();
        let go_on = trial + chance.loss * given_up + chance.going_on() * value;
        if go_on < given_up {
            value = go_on;
            limit = limit.max(k + 1);
        } else {
            // No unit comes beyond this trial: what would follow is never met.
            value = given_up;
            limit = k;
        }
    }
    StoppingRule { limit, value, costs: costs(chances, trial, given_up) }
}

fn costs(chances: &[Chances], trial: f64, given_up: f64) -> Vec<f64> {
    let (mut waiting, mut spent) = (1.0, 0.0);
    let mut costs = vec![given_up];
    for chance in chances.iter().map(|chance| chance.sound()) {
        spent += waiting * (trial + chance.loss * given_up);
        waiting *= chance.going_on();
        costs.push(spent + waiting * given_up);
    }
    costs
}

/// Expected cost of a unit where some are given up after every trial: `giving_up[k - 1]` is the share
/// given up of those that trial `k` left waiting. A share that is missing is 1, and all that the last
/// trial leaves are given up. Prices as in [`stopping_rule`], whose value is never more than this. `None`
/// without trials.
///
/// Source: the same sum as `costs`, for a rule that draws lots.
pub fn cost_of_practice(
    chances: &[Chances],
    giving_up: &[f64],
    trial: f64,
    given_up: f64,
) -> Option<f64> {
    let (trial, given_up) = (input::amount(trial), input::amount(given_up));
    let (mut waiting, mut spent) = (1.0, 0.0);
    for (k, chance) in chances.iter().map(|chance| chance.sound()).enumerate() {
        let quit = giving_up.get(k).map_or(1.0, |share| input::amount(*share).min(1.0));
        spent += waiting * (trial + chance.loss * given_up);
        let left = waiting * chance.going_on();
        spent += left * quit * given_up;
        waiting = left * (1.0 - quit);
    }
    input::finite(spent + waiting * given_up).filter(|_| !chances.is_empty())
}
