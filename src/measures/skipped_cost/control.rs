//! The negative control of 5.5: causes that dirt cannot produce, in the same strata as the row.
//!
//! The groups of one grouping are one family: their p values go through Benjamini & Hochberg (1995), so
//! that of many innocent cells one in twenty is not flagged by chance. The test is exact: controls are
//! few, and the normal one finds differences in a single fault. It is divided by the scatter of the controls over
//! the fleet's clusters, since what goes wrong in a week goes wrong for all. A control without a fault on
//! either side is no test.

use super::declared::Exposure;
use super::site_weeks::SiteWeeks;
use super::strata::{FollowUp, Within};
use crate::derive::Definition;
use crate::stats::benjamini_hochberg;
use crate::stats::binomial_sum::scattered_p;
use crate::stats::stratified_poisson::{StratifiedRow, null_dispersion};

/// What the controls of one family came to, in the order of its cells.
pub struct Controls {
    q: Vec<Option<f64>>,
    most: f64,
}

impl Controls {
    /// Of these cells of one grouping; a q value of at most `1 - level` is a difference.
    pub fn of(
        (follow_up, site_weeks): (&FollowUp, &SiteWeeks),
        parts: [bool; 3],
        cells: &[Within],
        exposure: Exposure,
        level: f64,
    ) -> Controls {
        let after_fault = cells.first().is_some_and(|within| within.after_fault);
        let definition = Definition::Control;
        let rows = site_weeks.risk_sets.by_parts(parts, exposure, definition, after_fault);
        let all: Vec<StratifiedRow> = rows.values().flatten().copied().collect();
        let phi = null_dispersion(&all, level);
        let test = |within: &Within| {
            let rows = rows.get(&follow_up.places.key(&within.group));
            let rows = rows.map_or(&[][..], Vec::as_slice);
            scattered_p(&follow_up.events(rows, within, exposure, definition), phi)
        };
        let tests: Vec<Option<f64>> = cells.iter().map(test).collect();
        let p: Vec<f64> = tests.iter().copied().flatten().collect();
        let mut adjusted = benjamini_hochberg(&p).into_iter();
        let q = tests.iter().map(|test| test.and_then(|_| adjusted.next())).collect();
        Controls { q, most: 1.0 - level }
    }

    /// The q value of the control at this place of the family; none where it was no test.
    pub fn q(&self, at: usize) -> Option<f64> {
        self.q.get(at).copied().flatten()
    }

    /// Whether it shows a difference that dirt cannot have made.
    pub fn is_confounded(&self, at: usize) -> bool {
        self.q(at).is_some_and(|q| q <= self.most)
    }
}
