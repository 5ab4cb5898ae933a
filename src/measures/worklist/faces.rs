//! End faces left failing (5.11): what mating them as they are would cost more than with both ends
//! seen, at the stage where they are mated next and for that part of them that no look before it stops,
//! less the price of the work. A trip for that alone is worth it only where that is more than the trip; else
//! whoever mates it does the work. Of a defect nothing is known that it would save: faults of dirt say
//! nothing of it. What is worth less than its work is not listed.

use super::declared::{List, Own, When};
use super::item::{Item, face_name};
use super::limit::{CycleLimit, cycle_limit};
use super::looked_later::LookedLater;
use super::risk::{Between, Risks};
use crate::derive::counts::ZoneOf;
use crate::derive::{DeriveError, LeftFailing};
use crate::measures::cycles;
use crate::measures::entry::money::arrivals;
use crate::measures::evidence::Evidence;
use crate::measures::results::{Group, Money};
use crate::records::Finding;

/// What is to be done with an end face.
enum Work {
    /// Cleaned and looked at again.
    Clean,
    /// Looked at again: nobody wrote what failed it.
    Look,
    /// Repolished or replaced.
    Replace,
}

/// Every candidate with its saving. Each cell of candidates has one saving, and holds the latest.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn left_failing(
    evidence: &Evidence,
    cycles: &cycles::Table,
    risks: &mut Risks,
) -> Result<Vec<Item>, DeriveError> {
    let glossary = &evidence.derived.glossary;
    let stages = glossary.stage.0.words();
    let arrivals = arrivals(evidence, stages)?;
    let limit = cycle_limit(cycles);
    let later = LookedLater::of(evidence)?;
    let dark = &evidence.plan.stages.dark;
    let reject = evidence.costs().reject as f64;
    let item = |left: LeftFailing| {
        let stage = glossary.stage.0.word(left.stage.into());
        let family = glossary.family.0.word(left.family);
        let work = work(&left, limit);
        let work_cost = match work {
            // The mean of what contaminated first looks of the stage led to: cleanings, looks, rejects.
            Work::Clean | Work::Look => {
                arrivals.get(usize::from(left.stage)).map_or(0.0, |arrival| arrival.cleaning)
            }
            Work::Replace => reject,
        };
        let onward = later.from(stage);
        let is_dirt = left.finding != Finding::Defect;
        let risk = risks.failing(&onward.stage, family).filter(|_| is_dirt);
        let through = Between::known(onward.let_through);
        let saving = risk.as_ref().and_then(|risk| risk.saving(0.0));
        let saving = saving.map(|saving| saving.times(through).less(work_cost));
        // Where there is no light yet the work is done where the end face lies.
        let trip_cost =
            if dark.iter().any(|dark| dark == stage) { 0 } else { evidence.costs().visit };
        let with_trip = saving.map(|saving| saving.less(trip_cost as f64));
        let now = with_trip.filter(|saving| saving.value > 0.0);
        let when = if now.is_some() { When::Now } else { When::ThereAnyhow };
        let (saving, work_cost) = match now {
            Some(_) => (now, work_cost + trip_cost as f64),
            None => (saving, work_cost),
        };
        let own = Own {
            end_face: face_name(evidence, left.key),
            what_to_do: Some(match when {
                When::Now => what_to_do(&left, &work, limit),
                When::ThereAnyhow => {
                    format!("before it is mated: {}", what_to_do(&left, &work, limit))
                }
            }),
            when: saving.map(|_| when),
            trip_cost: Some(Money(trip_cost)),
            let_through: is_dirt.then_some(onward.let_through),
            reason: Some(reason(&left, limit)),
            finding: Some(left.finding.into()),
            zone: (left.zone > 0).then(|| ZoneOf::of_event(left.zone)),
            cycles: Some(left.cycles),
            work_cost: Some(Money::rounded(work_cost)),
            mean_fault_cost: risk.as_ref().and_then(|risk| risk.mean_cost).map(Money::rounded),
            rates_of: risk.as_ref().map(|risk| risk.rates_of),
            rates_as: risk.as_ref().map(|risk| risk.rates_as),
            cost_of: risk.as_ref().map(|risk| risk.cost_of),
            ..Own::with(List::LeftFailing)
        };
        Item {
            group: Group {
                site: Some(glossary.site.0.word(left.site).to_owned()),
                stage: Some(stage.to_owned()),
                family: Some(family.to_owned()),
                ..Group::default()
            },
            since: Some(left.at.0),
            saving,
            n: risk.as_ref().map_or(0.0, |risk| risk.n),
            events: risk.as_ref().map_or(0, |risk| risk.faults),
            flags: risk.map_or_else(Vec::new, |risk| risk.flags),
            own,
        }
    };
    let items = evidence.derived.counts.worklist.left.items().into_iter().map(item);
    Ok(items.filter(|item| item.saving.is_none_or(|saving| saving.value > 0.0)).collect())
}

fn work(left: &LeftFailing, limit: CycleLimit) -> Work {
    match left.finding {
        _ if left.recessed => Work::Replace,
        Finding::Defect => Work::Replace,
        _ if left.cycles >= limit.cycles => Work::Replace,
        Finding::Contamination => Work::Clean,
        Finding::Unknown => Work::Look,
    }
}

fn what_to_do(left: &LeftFailing, work: &Work, limit: CycleLimit) -> String {
    match work {
        _ if left.recessed => "replace the optic: no tool reaches a recessed lens".to_owned(),
        Work::Replace => "repolish or replace".to_owned(),
        Work::Clean if left.cycles == 0 => "clean and look again".to_owned(),
        Work::Clean => {
            format!(
                "clean and look again, {} of {} cycles left",
                limit.cycles - left.cycles,
                limit.cycles
            )
        }
        Work::Look => "look again and record what fails it; clean if it is dirt".to_owned(),
    }
}

fn reason(left: &LeftFailing, limit: CycleLimit) -> String {
    let tried = match left.cycles {
        0 => "no cleaning tried".to_owned(),
        1 => "1 cycle tried".to_owned(),
        cycles => format!("{cycles} cycles tried"),
    };
    if left.recessed {
        return "a fault names it and its last look failed; a recessed lens".to_owned();
    }
    let failed = match left.finding {
        Finding::Contamination => "left dirty",
        Finding::Defect => "left with a defect, which does not come off",
        Finding::Unknown => "left failing, nobody wrote why",
    };
    let past = if left.cycles >= limit.cycles && left.finding != Finding::Defect {
        let of = if limit.of_records { "these records' limit" } else { "common practice" };
        format!(": {of} gives up after {}", limit.cycles)
    } else {
        String::new()
    };
    format!("{failed}, {tried}{past}")
}
