//! What one look costs, with the cleanings and rejects that it brings (5.5).

use std::collections::BTreeMap;

use crate::derive::DeriveError;
use crate::measures::evidence::Evidence;
use crate::settings::Costs;

/// Routine visits of one stage and family.
#[derive(Clone, Copy, Debug, Default)]
struct Routine {
    looks: i64,
    cleanings: i64,
    rejects: i64,
}

impl Routine {
    fn with(self, other: Routine) -> Routine {
        Routine {
            looks: self.looks + other.looks,
            cleanings: self.cleanings + other.cleanings,
            rejects: self.rejects + other.rejects,
        }
    }
}

/// Prices of a look by stage and family.
pub struct LookPrices<'a> {
    costs: &'a Costs,
    routine: BTreeMap<(String, String), Routine>,
}

impl<'a> LookPrices<'a> {
    /// From the routine visits of the look-back that began with a look.
    ///
    /// # Errors
    /// A count table that cannot be grouped: a fault of the program.
    pub fn of(evidence: &Evidence<'a>) -> Result<Self, DeriveError> {
        let only = evidence.look_back().with("row", &["routine"]);
        let cells = evidence.cells(
            "visits",
            &only,
            &["stage", "family"],
            &["looks", "cleanings", "rejects"],
        )?;
        let routine = cells.into_iter().map(|cell| {
            let [looks, cleanings, rejects] = std::array::from_fn(|at| cell.sums[at]);
            let [stage, family] = std::array::from_fn(|at| cell.group[at].clone());
            ((stage, family), Routine { looks, cleanings, rejects })
        });
        Ok(LookPrices { costs: evidence.costs(), routine: routine.collect() })
    }

    /// Minor units of one look at this stage and family: its minutes, and the cleanings and
    /// rejects per look that routine visits there had (of the stage, or of all, where there were
    /// none).
    pub fn price(&self, stage: &str, family: &str) -> f64 {
        let of = |wanted: &dyn Fn(&(String, String)) -> bool| {
            self.routine
                .iter()
                .filter(|(key, _)| wanted(key))
                .fold(Routine::default(), |sum, (_, own)| sum.with(*own))
        };
        let cell = of(&|(own_stage, own_family)| own_stage == stage && own_family == family);
        let at_stage = || of(&|(own_stage, _)| own_stage == stage);
        let all = || of(&|_| true);
        let seen = [cell, at_stage(), all()].into_iter().find(|routine| routine.looks > 0);
        let per_look = |count: i64, looks: i64| count as f64 / looks as f64;
        let (cleanings, rejects) = seen.map_or((0.0, 0.0), |routine| {
            (per_look(routine.cleanings, routine.looks), per_look(routine.rejects, routine.looks))
        });
        let minute = self.costs.labour_hour as f64 / 60.0;
        let cleaning = self.costs.cleaning_minutes * minute + self.costs.cleaning_material as f64;
        self.costs.look_minutes * minute + cleanings * cleaning + rejects * self.costs.reject as f64
    }
}
