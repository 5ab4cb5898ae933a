//! What the measures work from: the count tables of one derivation, ready to be grouped.

use rustc_hash::FxHashMap;

use crate::derive::{Cell, DeriveError, Derived, Frame, Only, all_to_arrow};
use crate::measures::flag::Flag;
use crate::settings::{Costs, Plan, Rules};
use crate::stats::ClusterSums;

/// Count tables and settings of one review.
pub struct Evidence<'a> {
    pub plan: &'a Plan,
    pub derived: &'a Derived,
    frames: FxHashMap<&'static str, Frame>,
}

impl<'a> Evidence<'a> {
    /// Takes the count tables over.
    ///
    /// # Errors
    /// A count table that cannot be grouped: a fault of the program.
    pub fn of(plan: &'a Plan, derived: &'a Derived) -> Result<Self, DeriveError> {
        let batches = all_to_arrow(&derived.counts, &derived.glossary, &derived.calendar)?;
        let mut frames = FxHashMap::default();
        for (name, batch) in batches {
            frames.insert(name, Frame::of(&batch)?);
        }
        Ok(Evidence { plan, derived, frames })
    }

    /// The frame of a count table.
    ///
    /// # Errors
    /// A table that does not exist: a fault of the program.
    pub fn frame(&self, table: &'static str) -> Result<&Frame, DeriveError> {
        self.frames.get(table).ok_or_else(|| DeriveError::Frame(format!("no count table {table}")))
    }

    /// Sums of one table by group.
    ///
    /// # Errors
    /// A table or column that does not exist: a fault of the program.
    pub fn cells(
        &self,
        table: &'static str,
        only: &Only,
        by: &[&str],
        sums: &[&str],
    ) -> Result<Vec<Cell>, DeriveError> {
        self.frame(table)?.cells(only, by, sums)
    }

    /// Rows of the period alone.
    pub fn period(&self) -> Only {
        Only::all().with("quarter", &[self.derived.period.quarter.to_string()])
    }

    /// Rows of the months looked back, the period included.
    pub fn look_back(&self) -> Only {
        Only::all().with("quarter", &self.derived.period.look_back_words())
    }

    /// Rows of every quarter up to the period.
    pub fn so_far(&self) -> Only {
        let calendar = &self.derived.calendar;
        let quarters = (0..calendar.quarters.count()).map(|piece| calendar.quarter(piece));
        let words: Vec<String> = quarters
            .filter(|quarter| *quarter <= self.derived.period.quarter)
            .map(|quarter| quarter.to_string())
            .collect();
        Only::all().with("quarter", &words)
    }

    /// The count table of 5.1's clusters: work orders, or site-days where there are too many.
    pub fn first_look_clusters(&self) -> &'static str {
        if self.derived.by_site_day { "site_days" } else { "work_orders" }
    }

    pub fn rules(&self) -> &'a Rules {
        &self.plan.rules
    }

    pub fn costs(&self) -> &'a Costs {
        &self.plan.costs
    }

    /// `guessed-cover` where the faults of the site, or of any site, are known over a default span.
    pub fn guessed_cover(&self, site: Option<&str>) -> Option<Flag> {
        let guessed = &self.derived.guessed_cover;
        let applies = match site {
            Some(site) => guessed.iter().any(|name| name == site),
            None => !guessed.is_empty(),
        };
        applies.then_some(Flag::GuessedCover)
    }
}

/// The usual groupings: the name in tables and the columns.
pub type Grouping = (&'static str, &'static [&'static str]);

/// What `Frame::cluster_sums` leaves in a cell, for the statistic.
pub fn cluster_sums(cell: &Cell) -> ClusterSums {
    let whole = |at: usize| cell.sums[at].max(0) as u64;
    ClusterSums {
        clusters: whole(0),
        n: whole(1),
        events: whole(2),
        sum_nn: whole(3).into(),
        sum_ny: whole(4).into(),
        sum_yy: whole(5).into(),
    }
}
