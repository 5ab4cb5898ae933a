//! Counts passages (4.4): two consecutive visits of one end face, the earlier known clean at its
//! end, the later beginning with a look.

use super::passage_counts::PassageCounts;
use super::tally::{Tallying, cap_code};
use crate::derive::calendar::pieces::{DAY, SECOND};
use crate::derive::face::visit::{Earlier, Failing, Look, Visit};

/// Places in `PASSAGE_KINDS`.
mod kind {
    pub const ROUTINE: u32 = 0;
    pub const PROMPTED: u32 = 1;
    pub const NOT_KNOWN_CLEAN: u32 = 2;
    pub const CLEANED_UNSEEN: u32 = 3;
    pub const FAILED_OTHERWISE: u32 = 4;
    pub const BACKWARDS: u32 = 5;
}

/// Fewest matings of each of `MATING_CLASSES` after the first.
const MATINGS_FROM: [u32; 7] = [1, 2, 3, 4, 5, 7, 10];
/// Days with which each of `DAY_CLASSES` after the first begins.
const DAYS_FROM: [i64; 8] = [1, 7, 14, 30, 60, 91, 182, 365];

/// Counts the passage that ends with a visit, and the second looks inside it.
pub fn tally_passage(
    visit: &Visit,
    quarter: Option<u32>,
    with: &Tallying,
    counts: &mut PassageCounts,
) {
    let (site, stage) = (visit.site, u32::from(visit.stage));
    let second = visit.second_looks;
    if second.looks > 0 {
        let row = [second.looks.into(), second.failing.into()];
        counts.second_looks.add(quarter.map(|quarter| [quarter, site, stage]), row);
    }
    let Some(earlier) = visit.earlier else { return };
    let kind = kind_of(visit, earlier);
    let dirty = i64::from(visit.first != Some(Look::Pass));
    let usable = i64::from(matches!(kind, kind::ROUTINE | kind::PROMPTED));
    let seconds = visit.start.saturating_sub(earlier.ended).max(0) / SECOND;
    let (from, family, capped) = (earlier.stage.into(), visit.face.family, cap_code(visit));
    let cell = quarter.map(|quarter| [quarter, site, from, stage, family, capped, kind]);
    let (clean, dirty) = (usable * (1 - dirty), usable * dirty);
    counts.passages.add(cell, [1, clean, dirty, earlier.matings.into(), seconds]);
    if kind != kind::ROUTINE {
        return;
    }
    let kept = quarter.filter(|quarter| (with.look_back..=with.period).contains(quarter));
    let place = kept.zip(with.calendar.weeks.piece(visit.start));
    let cell = place.map(|(quarter, week)| [quarter, week, site, from, stage, family, capped]);
    counts.weeks.add(cell, [1, dirty]);
    let matings = MATINGS_FROM.partition_point(|least| *least <= earlier.matings) as u32;
    let days = DAYS_FROM.partition_point(|least| least * (DAY / SECOND) <= seconds) as u32;
    let cell = quarter.map(|quarter| [quarter, from, stage, capped, matings, days]);
    counts.loads.add(cell, [1, dirty, earlier.matings.into(), seconds]);
}

/// The place in `PASSAGE_KINDS`.
fn kind_of(visit: &Visit, earlier: Earlier) -> u32 {
    match visit.first {
        _ if !earlier.passed => kind::NOT_KNOWN_CLEAN,
        None => kind::CLEANED_UNSEEN,
        Some(Look::Fail(Failing::Defect | Failing::Unknown)) => kind::FAILED_OTHERWISE,
        Some(_) if visit.stage < earlier.stage => kind::BACKWARDS,
        Some(_) if visit.prompted => kind::PROMPTED,
        Some(_) => kind::ROUTINE,
    }
}
