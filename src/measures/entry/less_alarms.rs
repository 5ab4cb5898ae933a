//! The headline's fit less false alarms, with what is unsure about their share (5.6).
//!
//! The share is that of looks beside the passages, so what it is unsure by comes to the limits beside what the fit is.

use super::declared::{By, Quantity, Table};
use super::fit::{Subset, entry_row};
use crate::measures::evidence::Evidence;
use crate::measures::results::Group;
use crate::stats::Estimate;

/// Fits less the share of false alarms, and less both ends of its interval.
pub(in crate::measures) struct LessAlarms<'a> {
    fit: Subset<'a>,
    /// Less its low end, and less its high end.
    ends: [Option<Subset<'a>>; 2],
}

impl<'a> LessAlarms<'a> {
    /// None where no look can raise a false alarm that is known.
    pub fn of(
        evidence: &Evidence,
        whole: &Subset<'a>,
        alarms: &Estimate,
    ) -> Option<LessAlarms<'a>> {
        let less = |alarm: f64| whole.with_fixed(evidence, -(-alarm.min(0.999)).ln_1p());
        let fit = less(alarms.value?);
        Some(LessAlarms { fit, ends: [alarms.low, alarms.high].map(|end| end.map(less)) })
    }

    /// A row a group of steps.
    pub fn rows(&self, evidence: &Evidence, within: &Group, table: &mut Table) {
        let fit = &self.fit;
        for group in 0..fit.fit.groups.len() {
            let inflation = fit.inflation.by_group[group];
            let found = fit.fit.interval(group, evidence.rules().level, inflation);
            // Fewer alarms leave more dirt.
            let [more, less] = self.ends.each_ref().map(|end| {
                let end = end.as_ref().filter(|end| end.fit.groups == fit.fit.groups)?;
                let hazard = end.fit.hazard(group);
                hazard.is_finite().then_some(hazard)
            });
            let found = found.beside([less, more]);
            let named = (By::Step, Quantity::EntryLessAlarms);
            table.rows.push(entry_row(evidence, (fit, group), named, within, &found));
        }
    }
}
