//! What one look costs and how long it takes, with the cleanings, looks after them and rejects that it brings (5.5).

use std::collections::BTreeMap;

use crate::by;
use crate::derive::DeriveError;
use crate::derive::counts::{Family, Row as _, Stage, VisitRow, Visits, visits};
use crate::measures::evidence::Evidence;
use crate::settings::Costs;

/// Prices of a look by stage and family.
pub struct LookPrices<'a> {
    costs: &'a Costs,
    /// Routine visits by stage and family.
    routine: BTreeMap<(String, String), visits::Row>,
}

/// What routine visits that began with a look had after it, for each.
#[derive(Default)]
struct After {
    cleanings: f64,
    looks: f64,
    rejects: f64,
}

impl<'a> LookPrices<'a> {
    /// From the routine visits of the look-back that began with a look.
    ///
    /// # Errors
    /// A count table that cannot be grouped: a fault of the program.
    pub fn of(evidence: &Evidence<'a>) -> Result<Self, DeriveError> {
        let rows = evidence.looked_back().with([VisitRow::Routine]);
        let mut routine = BTreeMap::new();
        for group in evidence.groups::<Visits>(&rows, &by!(Stage, Family))? {
            let [stage, family] = [0, 1].map(|at| group.words[at].clone());
            routine.insert((stage, family), group.counts);
        }
        Ok(LookPrices { costs: evidence.costs(), routine })
    }

    /// The routine visits of this stage and family; of the stage, or of all, where none of these began with a look.
    fn seen(&self, stage: &str, family: &str) -> Option<visits::Row> {
        let of = |wanted: [Option<&str>; 2]| {
            let is = |wanted: Option<&str>, word: &str| wanted.is_none_or(|wanted| wanted == word);
            let mut sum = visits::Row::default();
            for ((at_stage, of_family), row) in &self.routine {
                if is(wanted[0], at_stage) && is(wanted[1], of_family) {
                    sum.add(row);
                }
            }
            sum
        };
        let wider = [[Some(stage), Some(family)], [Some(stage), None], [None, None]];
        wider.into_iter().map(of).find(|routine| routine.looks > 0)
    }

    /// What follows one look at this stage and family.
    fn after(&self, stage: &str, family: &str) -> After {
        self.seen(stage, family).map_or(After::default(), |routine| {
            let per_look = |count: i64| count as f64 / routine.looks as f64;
            After {
                cleanings: per_look(routine.cleanings_seen),
                looks: per_look(routine.cycles_seen),
                rejects: per_look(routine.rejects_seen),
            }
        })
    }

    /// Minor units of one look at this stage and family: its minutes, and the cleanings, the looks
    /// after them and the rejects that routine visits there which began with a look had for each.
    pub fn price(&self, stage: &str, family: &str) -> f64 {
        let minute = self.costs.labour_hour as f64 / 60.0;
        let look = self.costs.look_minutes * minute;
        let cleaning = self.costs.cleaning_minutes * minute + self.costs.cleaning_material as f64;
        let After { cleanings, looks, rejects } = self.after(stage, family);
        look + (cleanings * cleaning + looks * look + rejects * self.costs.reject as f64)
    }

    /// Minutes of one look at this stage and family, with those of the cleanings and looks after them that its price has.
    pub fn minutes(&self, stage: &str, family: &str) -> f64 {
        let After { cleanings, looks, .. } = self.after(stage, family);
        let Costs { look_minutes, cleaning_minutes, .. } = self.costs;
        look_minutes + (cleanings * cleaning_minutes + looks * look_minutes)
    }
}
