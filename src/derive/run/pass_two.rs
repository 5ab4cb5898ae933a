//! Pass two, by mating: halves join, matings get their coverage, follow-up and faults, and are handed to the count.

use std::sync::Arc;

use super::at_hand::{AtHand, PromptedVisits};
use super::bucketwise::Run;
use super::carriers::Trials;
use super::faults::other_windows;
use super::pass_one::PassOne;
use crate::calendar::Days;
use crate::derive::DeriveError;
use crate::derive::carriers::trial::FaceTrial;
use crate::derive::counts::{Counts, tally_exposure, tally_moved, tally_moved_risk};
use crate::derive::facts::fault::{FaultRow, RULED, spill_faults};
use crate::derive::facts::place::Places;
use crate::derive::facts::spills::{MatingBuckets, MatingSpill};
use crate::derive::mating::at_risk::Found;
use crate::derive::mating::describe::Setting;
use crate::derive::mating::exposure::exposures;
use crate::derive::mating::fault::Faults;
use crate::derive::mating::follow_up::Following;
use crate::derive::mating::risk_times::RiskTimes;
use crate::derive::mating::unseen::unseen_mating;
use crate::derive::mating::window::Windows;
use crate::derive::scan::cover::Covers;
use crate::derive::scan::names::MIXED;
use crate::derive::share::input::Input;
use crate::derive::share::output::Output;
use crate::derive::share::stage::{Kind, Stage};
use crate::derive::share::work::{Spilled, Stepped};
use crate::store::{Buckets, Spill, Store};

/// Faults, the other windows of tickets that they are also under, and how they are followed.
type With<'a> = (&'a AtHand, &'a Windows, &'a Following<'a>);

/// The rows that pass two makes, by writer.
#[derive(Default)]
struct DescribedRows {
    matings: Vec<MatingBuckets>,
    /// Where the count has no tickets: the faults of those matings.
    faults: Vec<Buckets<FaultRow>>,
    faces: Vec<Buckets<FaceTrial>>,
}

impl Spilled for DescribedRows {
    fn handed(input: &Input) -> Result<DescribedRows, DeriveError> {
        let matings = (input.take(Kind::MatingFacts)?, input.take(Kind::Touches)?);
        let faults = vec![input.take(Kind::SiteFaults)?];
        let faces = vec![input.take(Kind::FaceTrials)?];
        Ok(DescribedRows { matings: vec![matings], faults, faces })
    }

    fn hand_on(&self, output: &mut Output) -> Result<(), DeriveError> {
        for (matings, touches) in &self.matings {
            output.rows(Kind::MatingFacts, matings)?;
            output.rows(Kind::Touches, touches)?;
        }
        self.faults.iter().try_for_each(|faults| output.rows(Kind::SiteFaults, faults))?;
        self.faces.iter().try_for_each(|faces| output.rows(Kind::FaceTrials, faces))
    }
}

impl Run<'_> {
    /// How matings are followed.
    pub(super) fn following(&self) -> Following<'_> {
        let stages = self.glossary.stage.0.words().iter();
        let dark = stages.map(|stage| self.plan.stages.dark.contains(stage)).collect();
        let quarters = 0..self.calendar.quarters.count();
        let looked_back = quarters
            .map(|piece| self.period.look_back.contains(&self.calendar.quarter(piece)))
            .collect();
        let (rules, calendar, end) = (self.rules(), self.calendar, self.period.end);
        let mut following = Following::new(rules, dark, calendar, end, looked_back);
        following.by_month = self.by_month();
        following
    }

    /// Runs it, and adds what it counts itself, of few matings, to the counts of pass one. Also tells when faults came.
    pub(super) fn pass_two(
        &self,
        one: &mut PassOne,
        covers: &Covers,
        with: With,
        (prompted, places): (&PromptedVisits, &Arc<Places>),
        store: &Store,
    ) -> Result<(Counts, Trials, [RiskTimes; 2]), DeriveError> {
        let stepped = self.work.step(Stage::PassTwo, || {
            self.described(one, covers, with, (prompted, places), store)
        })?;
        let (found, counted, DescribedRows { matings, faults, faces }) = stepped;
        let mut counts = std::mem::replace(&mut one.counts, self.no_counts());
        counts = counts.merge(counted.unwrap_or_else(|| self.no_counts()));
        one.facts.matings.extend(matings);
        one.facts.faults.extend(faults);
        let (times, moved) = found.finish();
        for moved in &moved {
            tally_moved_risk(moved, &times[0], &mut counts.risks.risk_variants);
        }
        Ok((counts, Trials { faces, ..Trials::default() }, times))
    }

    fn setting<'s>(
        &'s self,
        one: &'s PassOne,
        covers: &'s Covers,
        faults: &'s Faults,
    ) -> Setting<'s> {
        Setting {
            rules: self.rules(),
            covers,
            facts: &self.scanned.facts,
            faults,
            apart: &one.apart,
            quarters: &self.calendar.quarters,
            mixed_criteria: self.glossary.criteria.0.find(MIXED).unwrap_or(0),
            period_end: self.period.end,
        }
    }

    fn described(
        &self,
        one: &PassOne,
        covers: &Covers,
        (at_hand, windows, following): With,
        (prompted, places): (&PromptedVisits, &Arc<Places>),
        store: &Store,
    ) -> Result<Stepped<Found, DescribedRows>, DeriveError> {
        let (with, folder) = (self.tallying(), store.work_folder());
        let (other_places, other_rules) = other_windows(windows, self.rules());
        let start = || {
            let faces: Spill<FaceTrial> = Spill::new(&folder, self.spread.faces())?;
            let days = Days::of(self.plan.fleet.timezone);
            let spill = MatingSpill::new(&folder, places)?;
            let own: Option<Spill<FaultRow>> = match at_hand {
                AtHand::Here(..) => None,
                AtHand::ByBucket(_) => Some(Spill::new(&folder, places.count())?),
            };
            Ok((self.no_counts(), days, (spill, own), (faces, Found::default())))
        };
        let done = self.threads(self.scanned.matings.count(), start, |worker, bucket| {
            let (counts, days, (spill, own), (faces, found)) = worker;
            if self.scanned.matings.is_empty(bucket) {
                return Ok(());
            }
            let (faults, others) = at_hand.of_bucket(bucket, &other_places)?;
            let prompted = prompted.of_bucket(bucket)?;
            let setting = self.setting(one, covers, &faults);
            for pair in self.pairs(&one.halves, bucket)? {
                let mating = setting.describe(&pair, days);
                self.witness.mating(&mating);
                spill.push(&mating)?;
                if mating.reseat || !mating.faults.is_empty() {
                    found.see_reseat(&mating, following);
                }
                if !mating.faults.is_empty() {
                    found.see(&mating, following);
                    if let Some(own) = own {
                        let bucket = places.bucket(mating.site, mating.at);
                        spill_faults((mating.faults, RULED), bucket, own)?;
                    }
                }
                if mating.near_tickets {
                    for (rule, faults) in other_rules.iter().zip(&*others) {
                        let other = setting.under(faults, &pair, &mating);
                        let tables = (&mut counts.followed, &mut counts.prices);
                        tally_moved([&mating, &other], rule, following, tables);
                        found.see_moved([&mating, &other], rule.variant(), following);
                    }
                }
                if let Some(unseen) = unseen_mating(&pair, &mating, following) {
                    counts.worklist.unseen.add(unseen.cell(), unseen);
                }
                let exposed = exposures(&pair, &prompted, self.period.end);
                for exposure in exposed.into_iter().flatten() {
                    self.witness.exposure(&exposure);
                    let touch = tally_exposure(&exposure, &with, &mut counts.carriers);
                    let Some(touch) = touch else { continue };
                    spill.push_touch(&touch)?;
                    if exposure.other.is_known() {
                        let bucket = self.spread.face(exposure.other.high);
                        faces.push(bucket, &FaceTrial::of(&exposure, &touch))?;
                    }
                }
            }
            Ok(())
        })?;
        let (mut counts, mut rows) = (self.no_counts(), DescribedRows::default());
        let mut all = Found::default();
        for (counted, _, spill, (faces, found)) in done {
            all.add(found);
            counts = counts.merge(counted);
            let (spill, own) = spill;
            rows.matings.push(spill.finish()?);
            rows.faults.extend(own.map(Spill::finish).transpose()?);
            rows.faces.push(faces.finish()?);
        }
        Ok((all, Some(counts), rows))
    }
}
