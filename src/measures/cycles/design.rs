//! The columns of 5.2's regression: which levels can be told apart, and the numbers of each row.
//!
//! A level that is too rare to estimate would run to infinity and take the others with it: its
//! cycles are left out, and counted. Stops at columns; `odds` fits them.

use super::trials::{Covariate, Trial};

/// Fewest passes, and fewest cycles without a pass, at a level of its own (common practice: about
/// ten events a column, here five on either side).
const LEAST_EITHER: u64 = 5;
/// Cycles from this one on share a level.
const LAST_CYCLE: u32 = 5;

/// One level of a factor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::measures) struct Level {
    /// Place in the order of display; for cycles the number, the last one for itself and later.
    pub place: u32,
    /// Cycles made at it.
    pub trials: u64,
    /// Cycles that passed.
    pub passed: u64,
}

/// What the odds of passing may depend on.
#[derive(Clone, Debug)]
pub(in crate::measures) struct Factor {
    /// In the order of display; never empty.
    pub levels: Vec<Level>,
    /// Place of the level that the others are compared with.
    pub reference: u32,
}

/// The regression before it is fitted.
#[derive(Clone, Debug)]
pub(in crate::measures) struct Design {
    /// The number of the cycle.
    pub cycle: Factor,
    /// By [`Covariate::ALL`].
    factors: [Factor; 4],
    /// The cycles that stay.
    pub kept: Vec<Trial>,
}

impl Factor {
    /// Levels of the trials by `place`, the largest as reference.
    fn of(trials: &[Trial], place: impl Fn(&Trial) -> u32) -> Factor {
        let mut levels = std::collections::BTreeMap::new();
        for trial in trials {
            let at = place(trial);
            let level = levels.entry(at).or_insert(Level { place: at, trials: 0, passed: 0 });
            level.trials = level.trials.saturating_add(trial.trials);
            level.passed = level.passed.saturating_add(trial.passed);
        }
        let levels: Vec<Level> = levels.into_values().collect();
        // The first of the largest.
        let largest = levels.iter().rev().max_by_key(|level| level.trials);
        let reference = largest.map_or(0, |level| level.place);
        Factor { levels, reference }
    }

    /// The levels that have a column: all but the reference.
    pub fn columns(&self) -> impl Iterator<Item = &Level> {
        self.levels.iter().filter(|level| level.place != self.reference)
    }
}

impl Level {
    fn is_enough(&self, least: u64) -> bool {
        let missed = self.trials.saturating_sub(self.passed);
        self.trials >= least && self.passed.min(missed) >= LEAST_EITHER
    }
}

impl Design {
    /// The design of these trials; `least` is the fewest trials at a level. `None` where not even
    /// the first cycle has enough.
    pub fn of(trials: &[Trial], least: u64) -> Option<Design> {
        let mut kept = trials.to_vec();
        loop {
            let factors = Covariate::ALL.map(|of| Factor::of(&kept, |trial| trial.place(of)));
            let enough = |trial: &Trial| {
                Covariate::ALL.into_iter().zip(&factors).all(|(of, factor)| {
                    let mut levels = factor.levels.iter();
                    levels.any(|level| level.place == trial.place(of) && level.is_enough(least))
                })
            };
            let before = kept.len();
            let next: Vec<Trial> = kept.iter().filter(|trial| enough(trial)).copied().collect();
            kept = next;
            // Leaving out one level may make another too rare.
            if kept.len() == before {
                let cycle = cycles(&kept, least)?;
                return Some(Design { cycle, factors, kept });
            }
        }
    }

    /// The levels of a covariate.
    pub fn factor(&self, of: Covariate) -> &Factor {
        &self.factors[of as usize]
    }

    /// The cycle level of a cycle.
    pub fn cycle_level(&self, cycle: u32) -> u32 {
        let last = self.cycle.levels.last().map_or(1, |level| level.place);
        cycle.min(last)
    }

    /// What changes from cycle to cycle: the intercept, the cycle, the method.
    pub fn leading(&self, cycle: u32, method: u32) -> Vec<f64> {
        let mut row = vec![1.0];
        push(&mut row, &self.cycle, self.cycle_level(cycle));
        push(&mut row, self.factor(Covariate::Method), method);
        row
    }

    /// What stays: stage, family, zone.
    pub fn trailing(&self, trial: &Trial) -> Vec<f64> {
        let mut row = Vec::new();
        for of in [Covariate::Stage, Covariate::Family, Covariate::Zone] {
            push(&mut row, self.factor(of), trial.place(of));
        }
        row
    }
}

fn push(row: &mut Vec<f64>, factor: &Factor, place: u32) {
    row.extend(factor.columns().map(|level| f64::from(u8::from(level.place == place))));
}

/// Levels of the cycle number: as many as have enough, the last one for all later cycles too.
fn cycles(trials: &[Trial], least: u64) -> Option<Factor> {
    (1..=LAST_CYCLE).rev().find_map(|last| {
        let factor = Factor::of(trials, |trial| trial.cycle.clamp(1, last));
        let all = factor.levels.len() == last as usize
            && factor.levels.iter().all(|level| level.is_enough(least));
        all.then_some(Factor { reference: 1, ..factor })
    })
}
