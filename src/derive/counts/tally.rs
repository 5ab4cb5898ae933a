//! What is counted of each visit, mating and fault: every topic in turn.

use super::all::Counts;
use super::carriers::{self, OrderTrials};
use super::codes::{Family, QuarterNo};
use super::followed::OtherRules;
use super::kept::Tallying;
use super::{
    cleaning, coverage, entry, first_pass, followed, merged_faults, months, prices, rates,
    recording, risks, trust,
};
use crate::derive::face::visit::Visit;
use crate::derive::mating::describe::Mating;
use crate::derive::mating::fault::Fault;
use crate::derive::mating::follow_up::Following;

/// Counts one visit.
pub fn tally_visit(visit: &Visit, with: &Tallying, counts: &mut Counts, trials: &mut OrderTrials) {
    first_pass::tally(visit, with, &mut counts.first_pass);
    cleaning::tally(visit, with, &mut counts.cleaning);
    entry::tally(visit, with, &mut counts.entry);
    recording::tally_visit(visit, with, &mut counts.recording.looked_at);
    months::tally_visit(visit, with, &mut counts.months);
    carriers::tally_visit(visit, with, &mut counts.carriers, trials);
}

/// Counts one mating and its faults. `others` are the rules that 5.5 is also counted under.
pub fn tally_mating(
    mating: &Mating,
    with: &Following,
    others: &mut OtherRules,
    counts: &mut Counts,
) {
    if mating.at < with.period_end {
        coverage::tally(mating, with, &mut counts.coverage);
        followed::tally(mating, with, others, &mut counts.followed, &mut counts.prices);
        let quarter = with.looked_back(mating.at).filter(|_| !with.is_dark(mating.stage));
        if let Some(quarter) = quarter.map(QuarterNo) {
            risks::tally(mating, quarter, with, &mut counts.risks);
        }
        rates::tally(mating, with, &mut counts.rates);
        trust::tally(mating, with, &mut counts.trust);
        recording::tally_mating(mating, with, &mut counts.recording);
        months::tally_mating(mating, with, &mut counts.months);
    }
    for fault in mating.faults {
        tally_fault(fault, (mating.stage, mating.family), with, counts);
    }
}

/// Counts one fault under the stage and family of its mating, or where it was found.
pub fn tally_fault(fault: &Fault, place: (u8, u32), with: &Following, counts: &mut Counts) {
    merged_faults::tally(fault, place, with, &mut counts.faults, &mut counts.rates);
    let quarter = with.calendar.quarters.piece(fault.opened).map(QuarterNo);
    let (stage, family) = place;
    let place = (quarter, stage.into(), Family(family));
    prices::tally_fault(fault, place, &mut counts.prices.fault_prices);
}
