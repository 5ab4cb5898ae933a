//! A fit of the entry model to some of the passages, and its rows (5.6).

use super::declared::{By, Own, Quantity, Reason, Row, Table};
use super::passages::{Grouped, Lifecycle, Passage};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::results::Group;
use crate::stats::segment_clusters::Inflation;
use crate::stats::{SegmentFit, SegmentInterval};

/// Passages with their fit.
pub(in crate::measures) struct Subset<'a> {
    pub lifecycle: &'a Lifecycle,
    /// The passages as rows of the model.
    pub grouped: Grouped,
    pub fit: SegmentFit,
    /// How much site-weeks widen the limits.
    pub inflation: Inflation,
}

impl<'a> Subset<'a> {
    /// Fits the passages wanted.
    pub(in crate::measures) fn of(
        evidence: &Evidence,
        lifecycle: &'a Lifecycle,
        all: &[Passage],
        wanted: impl Fn(&Passage) -> bool,
    ) -> Subset<'a> {
        let passages = all.iter().filter(|passage| wanted(passage));
        Subset::fitted(evidence, lifecycle, Grouped::of(lifecycle, passages, |_| ()).0)
    }

    /// The same passages with a known hazard added to each.
    pub(in crate::measures) fn with_fixed(&self, evidence: &Evidence, fixed: f64) -> Subset<'a> {
        let rows = self.grouped.rows.iter().cloned();
        let rows = rows.map(|mut row| {
            row.fixed = fixed;
            row
        });
        let (ends, trials) = (self.grouped.ends.clone(), self.grouped.trials.clone());
        Subset::fitted(evidence, self.lifecycle, Grouped { ends, rows: rows.collect(), trials })
    }

    fn fitted(evidence: &Evidence, lifecycle: &'a Lifecycle, grouped: Grouped) -> Subset<'a> {
        let fit = SegmentFit::of(&grouped.rows, lifecycle.segments());
        let inflation = fit.inflation(&grouped.trials, evidence.rules().level);
        Subset { lifecycle, grouped, fit, inflation }
    }

    /// What a row about a group of segments says of itself: the stage where it leads, and as its own columns
    /// its steps and why it is no single step with a value.
    pub(in crate::measures) fn about(&self, group: usize) -> (Group, Own) {
        let members = &self.fit.groups[group];
        let steps = self.lifecycle.steps(members);
        let reason = match (self.fit.is_identified(group), members.len()) {
            (false, _) => Some(Reason::NotParted),
            (true, 1) => None,
            (true, _) => Some(Reason::Summed),
        };
        let from = steps.0.first().map(|step| step.from.clone());
        let stage = steps.0.last().map(|step| step.to.clone());
        let own = Own { from, steps: Some(steps), reason, ..Own::default() };
        (Group { stage, ..Group::default() }, own)
    }

    /// Flags that every row about a group carries.
    pub(in crate::measures) fn flags(&self, evidence: &Evidence, group: usize) -> Vec<Flag> {
        let rules = evidence.rules();
        let applies = [
            (self.fit.passing(group).0 < rules.least_count.into(), Flag::Thin),
            (self.inflation.clusters[group] < rules.few_clusters.into(), Flag::FewClusters),
            (!self.fit.converged, Flag::NotConverged),
            (!self.fit.is_identified(group), Flag::NotIdentified),
        ];
        applies.into_iter().filter_map(|(applies, flag)| applies.then_some(flag)).collect()
    }
}

/// A row a group of segments: the chance that dirt enters there.
pub(in crate::measures) fn entry_rows(
    evidence: &Evidence,
    subset: &Subset,
    (by, quantity): (By, Quantity),
    within: &Group,
    table: &mut Table,
) {
    for group in 0..subset.fit.groups.len() {
        let inflation = subset.inflation.by_group[group];
        let found = subset.fit.interval(group, evidence.rules().level, inflation);
        table.rows.push(entry_row(evidence, (subset, group), (by, quantity), within, &found));
    }
}

/// The row of one group, with what was found of it.
pub(in crate::measures) fn entry_row(
    evidence: &Evidence,
    (subset, group): (&Subset, usize),
    (by, quantity): (By, Quantity),
    within: &Group,
    SegmentInterval { hazard, chance }: &SegmentInterval,
) -> Row {
    let (place, about) = subset.about(group);
    let place = Group { stage: place.stage, ..within.clone() };
    let own = Own {
        hazard: hazard.value,
        hazard_low: hazard.low,
        hazard_high: hazard.high,
        deff: Some(subset.inflation.by_group[group]),
        clusters: Some(subset.inflation.clusters[group]),
        ..about
    };
    let row = Row::of(by, place, quantity, chance, own);
    row.flagged(subset.flags(evidence, group))
}
