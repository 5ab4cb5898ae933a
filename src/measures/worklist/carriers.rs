//! Carriers not cleaned since (5.11): listed end faces (5.7) that have touched others since they were
//! last cleaned, are in service, and were not found clean since.
//!
//! Expected saving of the first month, less the price of the work: dirty partners above the others'
//! shares, drawn towards 1 (5.7), times what a dirty arrival costs at the stages of its partners (5.6:
//! cycles and labour, and the part of faults after skipped looks that is associated with the skipping).

use super::declared::{List, Own, When};
use super::item::{Item, face_name, local};
use super::risk::Between;
use crate::derive::{CarrierFace, DeriveError, EndState, Later, TimeLine};
use crate::measures::carriers::{Carrier, Row, Table, expected_of_others};
use crate::measures::entry::money::{Arrival, Associated, arrivals};
use crate::measures::evidence::Evidence;
use crate::measures::months::short_history;
use crate::measures::results::{Group, Money};
use crate::measures::skipped_cost;

/// Every listed carrier that is not cleaned since.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn carriers(
    evidence: &Evidence,
    carriers: &Table,
    skipped: &skipped_cost::Table,
) -> Result<Vec<Item>, DeriveError> {
    let counts = &evidence.derived.counts.carriers;
    let arrivals = arrivals(evidence, evidence.derived.glossary.stage.0.words())?;
    let share = Associated::of(skipped).map(|(share, _)| share);
    let mut items = Vec::new();
    for line in counts.time_lines.iter().filter(|line| is_open(line)) {
        let (Some(name), Some(face)) = (
            face_name(evidence, line.face),
            counts.faces.iter().find(|face| face.key == line.face),
        ) else {
            continue;
        };
        if let Some(row) = listed(carriers, &name) {
            let dirty_end = price(face, &arrivals, share);
            items.push(item(evidence, (carriers, row), line, dirty_end));
        }
    }
    items.retain(Item::is_listed);
    Ok(items)
}

/// Whether it has touched anything since it was last cleaned, and is in use.
fn is_open(line: &TimeLine) -> bool {
    let Some(last) = line.touches.last() else { return false };
    let cleaned = line.cleaned.is_some_and(|cleaned| cleaned > last.at);
    !line.retired && !cleaned && last.own != Later::Clean
}

/// Its row among the listed.
fn listed<'a>(carriers: &'a Table, name: &str) -> Option<&'a Row> {
    carriers.listed().find(|row| {
        row.own.kind == Some(Carrier::EndFace) && row.own.entity.as_deref() == Some(name)
    })
}

/// Minor units of a dirty end among its partners: the mean over the stages of its trials.
fn price(face: &CarrierFace, arrivals: &[Arrival], share: Option<Associated>) -> Between {
    let (mut trials, mut cleaning, mut downstream) = (0.0, 0.0, 0.0);
    for (cell, row) in &face.cells {
        let of_cell = row.trials as f64;
        let arrival = arrivals.get(usize::from(cell.stage)).copied().unwrap_or_default();
        trials += of_cell;
        cleaning += of_cell * arrival.cleaning;
        downstream += of_cell * arrival.downstream;
    }
    let mean = |sum: f64| if trials > 0.0 { sum / trials } else { 0.0 };
    let (cleaning, downstream) = (mean(cleaning), mean(downstream));
    match share {
        None => Between::known(cleaning),
        Some(share) => Between {
            value: cleaning + share.share * downstream,
            low: cleaning + share.low * downstream,
            high: cleaning + share.high * downstream,
        },
    }
}

fn item(
    evidence: &Evidence,
    (carriers, row): (&Table, &Row),
    line: &TimeLine,
    dirty_end: Between,
) -> Item {
    let covered = evidence.months.named(row.group.site.as_deref()).recorded;
    // The touch that carries on is of one month; a site of some days is taken as of a whole one.
    let months = covered.max(1.0);
    let excess = || {
        let a_month = expected_of_others(carriers, row)? / months;
        let more = |ratio: f64| a_month * (ratio - 1.0);
        Some(Between {
            value: more(row.own.shrunken?),
            low: more(row.own.shrunken_low?),
            high: more(row.own.shrunken_high?),
        })
    };
    let costs = evidence.costs();
    let a_minute = costs.labour_hour as f64 / 60.0;
    let work_cost = (costs.cleaning_minutes + 2.0 * costs.look_minutes) * a_minute
        + costs.cleaning_material as f64;
    let since = line.touches.iter().filter(|touch| line.cleaned.is_none_or(|at| touch.at >= at));
    let cleaned = match line.cleaned.and_then(|at| local(evidence, at)) {
        Some(at) => format!("since it was last cleaned ({at})"),
        None => "and never cleaned in the months looked back".to_owned(),
    };
    let ratio = row.own.shrunken.unwrap_or(1.0);
    // Dirt that its own look does not see: a passing look before the mating is no all-clear.
    let (mut matings, mut passed) = (0_usize, 0_usize);
    for touch in since {
        matings += 1;
        passed += usize::from(touch.own_before == EndState::Seen);
    }
    let own_look = match (passed, matings) {
        (0, _) => String::new(),
        (passed, matings) if passed == matings => {
            "; it passed its own look shortly before each of them, so look with other criteria or replace it".to_owned()
        }
        (passed, _) => format!("; it passed its own look shortly before {passed} of them"),
    };
    let glossary = &evidence.derived.glossary;
    let last = line.touches.last();
    let word = |of: Option<String>| of.filter(|word| !word.is_empty());
    Item {
        group: Group {
            site: row
                .group
                .site
                .clone()
                .or_else(|| word(last.map(|touch| glossary.site.0.word(touch.site).to_owned()))),
            stage: word(last.map(|touch| glossary.stage.0.word(touch.stage.into()).to_owned())),
            ..Group::default()
        },
        since: last.map(|touch| touch.at),
        saving: excess().map(|excess| excess.times(dirty_end).less(work_cost)),
        n: row.n,
        events: row.events.unwrap_or(0),
        flags: row.flags.iter().copied().chain(short_history(covered)).collect(),
        own: Own {
            end_face: face_name(evidence, line.face),
            what_to_do: Some(
                "take it out of use, clean, look; inspect what it touched since".to_owned(),
            ),
            reason: Some(format!(
                "{ratio:.1} times the dirt of the others; mated {matings} {} {cleaned}{own_look}",
                if matings == 1 { "time" } else { "times" }
            )),
            work_cost: Some(Money::rounded(work_cost)),
            trip_cost: Some(Money(0)),
            when: Some(When::Now),
            ..Own::with(List::Carrier)
        },
    }
}
