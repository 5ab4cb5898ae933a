//! What later looks let through: an end face left failing at one stage is mated at a later one, and others
//! may look at it before.

use std::collections::BTreeMap;

use crate::by;
use crate::derive::DeriveError;
use crate::derive::counts::{Coverage, FromStage, MatedEnds, Matings, Stage};
use crate::measures::evidence::Evidence;

/// Where an end face that is at a stage is mated next with light on it, and the chance that nobody stops it before.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::measures) struct Onward {
    /// The stage at which it is mated.
    pub stage: String,
    /// The share that no look in between finds, 0 to 1; 1 where it is mated at the stage where it was left.
    pub let_through: f64,
}

/// By stage.
pub(in crate::measures) struct LookedLater(BTreeMap<String, Onward>);

impl LookedLater {
    /// Of the months looked back.
    ///
    /// Of the ends mated at the later stage, those last looked at no later than where it was left, times those that
    /// nobody had seen (or that were mated although they had failed) when they were mated.
    ///
    /// # Errors
    /// A count table that cannot be grouped: a fault of the program.
    pub fn of(evidence: &Evidence) -> Result<LookedLater, DeriveError> {
        let stages = &evidence.plan.stages;
        let at = |stage: &str| stages.order.iter().position(|known| known == stage);
        // By mating stage: ends by the place of the last stage looked at, none first.
        let mut ends: BTreeMap<usize, Vec<f64>> = BTreeMap::new();
        for group in
            evidence.groups::<MatedEnds>(&evidence.looked_back(), &by!(Stage, FromStage))?
        {
            let Some(mated) = at(&group.words[0]) else { continue };
            let of_stage = ends.entry(mated).or_insert_with(|| vec![0.0; stages.order.len() + 1]);
            let looked_at = at(&group.words[1]).map_or(0, |at| at + 1);
            of_stage[looked_at] += group.counts.ends.max(0) as f64;
        }
        let known = evidence.looked_back().with(Coverage::known());
        let mut unseen: BTreeMap<usize, (f64, f64)> = BTreeMap::new();
        for group in evidence.along::<Coverage, Matings>(&known, &by!(Stage))? {
            let Some(mated) = at(&group.words[0]) else { continue };
            let of_stage = unseen.entry(mated).or_default();
            for (coverage, counts) in &group.cells {
                let failing = if *coverage == Coverage::DespiteFail { counts.matings } else { 0 };
                of_stage.0 += (counts.unseen_ends + failing).max(0) as f64;
                of_stage.1 += 2.0 * counts.matings.max(0) as f64;
            }
        }
        let onward = |(place, stage): (usize, &String)| {
            let lit = |at: &usize| !stages.dark.contains(&stages.order[*at]);
            let (mated, by_look) = ends.range(place..).find(|(at, _)| lit(at))?;
            let all: f64 = by_look.iter().sum();
            let earlier: f64 = by_look[..=place + 1].iter().sum();
            let let_through = match unseen.get(mated).filter(|(_, ends)| *ends > 0.0) {
                _ if *mated == place => 1.0,
                Some((unseen, ends)) if all > 0.0 => earlier / all * (unseen / ends).min(1.0),
                _ => 1.0,
            };
            Some((stage.clone(), Onward { stage: stages.order[*mated].clone(), let_through }))
        };
        Ok(LookedLater(stages.order.iter().enumerate().filter_map(onward).collect()))
    }

    /// Of a stage; where nothing is mated with light after it, the stage itself, and nobody stops it.
    pub fn from(&self, stage: &str) -> Onward {
        let stays = || Onward { stage: stage.to_owned(), let_through: 1.0 };
        self.0.get(stage).cloned().unwrap_or_else(stays)
    }
}
