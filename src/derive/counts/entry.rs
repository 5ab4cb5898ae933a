//! Passages (5.6): two consecutive visits of one end face, the earlier known clean at its end, the later
//! beginning with a look; and looks that followed a passing one.

use super::codes::*;
use super::declare::{declare_counts, declare_part};
use super::kept::Tallying;
use super::table::CountTable;
use crate::calendar::{DAY_US, SECOND_US};
use crate::derive::face::visit::{Earlier, Look, Visit};
use crate::records::{Finding, code_list};

code_list! {
    /// What became of a passage: usable (routine or prompted), or why it is not, in the order in which
    /// the reasons are asked for.
    PassageKind {
        Routine = "routine",
        Prompted = "prompted",
        NotKnownClean = "not-known-clean",
        CleanedUnseen = "cleaned-unseen",
        FailedOtherwise = "failed-otherwise",
        ToAnEarlierStage = "to-an-earlier-stage",
    }
}

code_list! {
    /// Classes of the matings between the two visits of a passage.
    MatingClass {
        None = "0",
        One = "1",
        Two = "2",
        Three = "3",
        Four = "4",
        FiveToSix = "5-6",
        SevenToNine = "7-9",
        TenAndMore = "10 and more",
    }
}

code_list! {
    /// Classes of the days between them; each begins with the day that the one before names last.
    DayClass {
        Under1 = "under 1",
        To7 = "to 7",
        To14 = "to 14",
        To30 = "to 30",
        To60 = "to 60",
        To91 = "to 91",
        To182 = "to 182",
        To365 = "to 365",
        Over365 = "over 365",
    }
}

words! {
    PassageKind: "What became of the passage: usable, or why it is not.";
    MatingClass: "Matings between the two visits.";
    DayClass: "Days between the two visits.";
}

/// Fewest matings of each [`MatingClass`] after the first.
const MATINGS_FROM: [u32; MatingClass::ALL.len() - 1] = [1, 2, 3, 4, 5, 7, 10];
/// Days with which each [`DayClass`] after the first begins.
const DAYS_FROM: [i64; DayClass::ALL.len() - 1] = [1, 7, 14, 30, 60, 91, 182, 365];

impl MatingClass {
    /// The class of a number of matings.
    pub fn holding(matings: u32) -> MatingClass {
        MatingClass::ALL[MATINGS_FROM.partition_point(|least| *least <= matings)]
    }
}

impl DayClass {
    /// The class of a time, seconds.
    pub fn holding(seconds: i64) -> DayClass {
        DayClass::ALL[DAYS_FROM.partition_point(|least| least * (DAY_US / SECOND_US) <= seconds)]
    }
}

impl PassageKind {
    /// Of the passage from one visit to the next.
    fn of_visits(visit: &Visit, earlier: Earlier) -> PassageKind {
        match visit.first {
            _ if !earlier.passed => PassageKind::NotKnownClean,
            None => PassageKind::CleanedUnseen,
            Some(Look::Fail(Finding::Defect | Finding::Unknown)) => PassageKind::FailedOtherwise,
            Some(_) if visit.stage < earlier.stage => PassageKind::ToAnEarlierStage,
            Some(_) if visit.prompted => PassageKind::Prompted,
            Some(_) => PassageKind::Routine,
        }
    }
}

declare_counts! {
    /// Pairs of consecutive visits of one end face (5.6). `stage` is that of the later visit.
    passages: Passages by {
        quarter: QuarterNo, site: Site, from: FromStage, stage: Stage, family: Family, capped: Cap,
        kind: PassageKind,
    } counting {
        /// Passages.
        passages: Count,
        /// Usable passages that the end face came out of clean.
        clean: Count,
        /// Usable passages that it came out of contaminated.
        dirty: Count,
        /// Matings between the two visits.
        matings: Count,
        /// Time from the end of the one to the start of the other.
        seconds: Seconds,
    }

    /// Routine passages of the look-back by site-week of the later visit, for the scatter between them.
    passage_weeks: PassageWeeks by {
        quarter: QuarterNo, week: WeekNo, site: Site, from: FromStage, stage: Stage, family: Family,
        capped: Cap,
    } counting {
        /// Passages.
        passages: Count,
        /// Passages that the end face came out of contaminated.
        dirty: Count,
    }

    /// Routine passages by what happened between the two visits.
    passage_loads: PassageLoads by {
        quarter: QuarterNo, from: FromStage, stage: Stage, capped: Cap, matings: MatingClass,
        days: DayClass,
    } counting {
        /// Passages.
        passages: Count,
        /// Passages that the end face came out of contaminated.
        dirty: Count,
        /// Matings between the two visits.
        matings_between: Count,
        /// Time from the end of the one to the start of the other.
        seconds: Seconds,
    }

    /// Looks that followed a passing look with nothing between.
    second_looks: SecondLookCounts by { quarter: QuarterNo, site: Site, stage: Stage } counting {
        /// Second looks that passed or failed for contamination.
        looks: Count,
        /// Second looks that failed for contamination.
        failing: Count,
    }
}

declare_part! {
    /// What 5.6 is measured from.
    PassageCounts {
        passages: CountTable<Passages>,
        weeks: CountTable<PassageWeeks>,
        loads: CountTable<PassageLoads>,
        second_looks: CountTable<SecondLookCounts>,
    }
}

/// Counts the passage that ends with a visit, and the second looks inside it.
pub(super) fn tally(visit: &Visit, with: &Tallying, counts: &mut PassageCounts) {
    let quarter = with.quarter(visit.start);
    let (site, stage) = (Site(visit.site), Stage::from(visit.stage));
    let second = visit.second_looks;
    if second.looks > 0 {
        let row = second_looks::Row { looks: second.looks.into(), failing: second.failing.into() };
        let cell = quarter.map(|quarter| second_looks::Key { quarter, site, stage });
        counts.second_looks.add(cell, row);
    }
    let Some(earlier) = visit.earlier else { return };
    let kind = PassageKind::of_visits(visit, earlier);
    let dirty = i64::from(visit.first != Some(Look::Pass));
    let usable = i64::from(matches!(kind, PassageKind::Routine | PassageKind::Prompted));
    let matings = i64::from(earlier.matings);
    let seconds = visit.start.saturating_sub(earlier.ended).max(0) / SECOND_US;
    let (from, family) = (FromStage::from(earlier.stage), Family(visit.face.family));
    let capped = Cap::of_record(visit.capped);
    let row = passages::Row {
        passages: 1,
        clean: usable * (1 - dirty),
        dirty: usable * dirty,
        matings,
        seconds,
    };
    let cell =
        quarter.map(|quarter| passages::Key { quarter, site, from, stage, family, capped, kind });
    counts.passages.add(cell, row);
    if kind != PassageKind::Routine {
        return;
    }
    let kept = quarter.filter(|quarter| with.is_looked_back(*quarter));
    let place = kept.zip(with.calendar.weeks.piece(visit.start).map(WeekNo));
    let cell = place.map(|(quarter, week)| passage_weeks::Key {
        quarter,
        week,
        site,
        from,
        stage,
        family,
        capped,
    });
    counts.weeks.add(cell, passage_weeks::Row { passages: 1, dirty });
    let (between, days) = (MatingClass::holding(earlier.matings), DayClass::holding(seconds));
    let cell = quarter.map(|quarter| passage_loads::Key {
        quarter,
        from,
        stage,
        capped,
        matings: between,
        days,
    });
    let row = passage_loads::Row { passages: 1, dirty, matings_between: matings, seconds };
    counts.loads.add(cell, row);
}
