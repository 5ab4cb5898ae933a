//! Who was at risk when a fault came (5.5): of the look-back, in every stratum that had a fault, how many matings had
//! joined and left by each of its faults. Their difference is the risk set of the fault.
//!
//! Follow-up to the first linked fault is counted in full, to the longest horizon; where another definition or rule
//! follows a mating otherwise, what it has more or less: few matings have faults. Horizons need no count of their own,
//! since who is at risk at a time does not hang on how much longer one would have looked.

use super::codes::*;
use super::declare::{declare_counts, declare_part};
use super::table::CountTable;
use crate::derive::mating::at_risk::{AtRisk, Moved};
use crate::derive::mating::describe::Mating;
use crate::derive::mating::follow_up::Following;
use crate::derive::mating::risk_times::{RiskStratum, RiskTimes};
use crate::derive::mating::variant::Variant;

declare_counts! {
    /// Matings that are followed to their first linked fault, by the faults of their stratum (5.5).
    risk_sets: RiskSets by {
        week: WeekNo, quarter: QuarterNo, site: Site, stage: Stage, family: Family, criteria: Criteria,
        after_fault: AfterFault, coverage: Coverage, since: SinceMade,
    } counting {
        /// Matings at risk at this time of a fault that were not at the one before.
        entered: Count,
        /// Matings at risk at the time before, and no more at this one.
        left: Count,
    }

    /// First faults by definition, and how many more matings than above are followed under it.
    risk_faults: RiskFaults by {
        definition: Definition, week: WeekNo, quarter: QuarterNo, site: Site, stage: Stage, family: Family,
        criteria: Criteria, after_fault: AfterFault, coverage: Coverage, since: SinceMade,
    } counting {
        /// First faults at this time.
        faults: Count,
        /// Matings at risk from this time of a fault on that are not under the headline's definition, less the other way.
        entered: Count,
        /// Matings at risk no more from this time on, likewise.
        left: Count,
    }

    /// The same of linked faults under another rule, of matings not made after a fault. Under other windows of tickets
    /// the faults are the difference to the rules, too; where reseats count, all that are at risk are counted, at the
    /// times of their own.
    risk_variants: RiskVariants by {
        variant: Variant, quarter: QuarterNo, site: Site, stage: Stage, family: Family, criteria: Criteria,
        coverage: Coverage, since: SinceMade,
    } counting as risk_faults;
}

declare_part! {
    /// What ratios of 5.5 are worked out from.
    RiskCounts {
        risk_sets: CountTable<RiskSets>,
        risk_faults: CountTable<RiskFaults>,
        risk_variants: CountTable<RiskVariants>,
    }
}

/// Most cells of the risk sets, and of those under other rules; above it they are given up, and times at risk stand for numbers at risk (5.5). A million
/// take some 100 MiB.
pub const MOST_RISK_SETS: usize = 1_000_000;

/// Places of a mating among the times of its stratum, and whether a fault ended it.
type Places = Option<(usize, usize, bool)>;

fn places(at_risk: Option<AtRisk>, times: &[u32]) -> Places {
    let at_risk = at_risk?;
    let (first, beyond) = at_risk.places(times)?;
    Some((first, beyond, at_risk.by_fault && times[beyond - 1] == at_risk.to))
}

/// What follow-up between these places changes, `times` over: time by time.
fn changes(
    places: Places,
    times: &[u32],
    count: i64,
) -> impl Iterator<Item = (SinceMade, i64, i64)> {
    let ends = places.map(|(first, beyond, _)| {
        let left = times.get(beyond).map(|time| (SinceMade(*time), 0, count));
        [Some((SinceMade(times[first]), count, 0)), left]
    });
    ends.into_iter().flatten().flatten()
}

/// What one way to follow a mating has more than another: faults, and who is at risk.
fn difference(
    (less, more): (Places, Places),
    times: &[u32],
    mut add: impl FnMut(SinceMade, risk_faults::Row),
) {
    let ends = |places: Places| places.map(|(first, beyond, _)| (first, beyond));
    if ends(less) == ends(more) {
        return;
    }
    for (since, entered, left) in changes(less, times, -1).chain(changes(more, times, 1)) {
        add(since, risk_faults::Row { faults: 0, entered, left });
    }
}

/// The time of the fault that ends a follow-up.
fn fault_at(places: Places, times: &[u32]) -> Option<SinceMade> {
    places.filter(|(.., by_fault)| *by_fault).map(|(_, beyond, _)| SinceMade(times[beyond - 1]))
}

const ONE_FAULT: risk_faults::Row = risk_faults::Row { faults: 1, entered: 0, left: 0 };

/// Where a mating is counted under a rule.
fn variant_cell(
    variant: Variant,
    stratum: &RiskStratum,
    coverage: Coverage,
    since: SinceMade,
) -> risk_variants::Key {
    risk_variants::Key {
        variant,
        quarter: QuarterNo(stratum.quarter),
        site: Site(stratum.site),
        stage: stratum.stage.into(),
        family: Family(stratum.family),
        criteria: Criteria(stratum.criteria),
        coverage,
        since,
    }
}

/// Counts one mating of the look-back that is not dark.
pub(super) fn tally(
    mating: &Mating,
    quarter: QuarterNo,
    with: &Following,
    counts: &mut RiskCounts,
) {
    let stratum = RiskStratum::of(mating, quarter.0);
    if !mating.after_fault {
        tally_reseats(mating, &stratum, with, &mut counts.risk_variants);
    }
    let times = with.risk_times.at(&stratum);
    let week = with.calendar.weeks.piece(mating.at).map(WeekNo);
    let (false, Some(week)) = (times.is_empty(), week) else { return };
    let followed = |definition| places(AtRisk::of(mating, definition, with.rules), times);
    let linked = followed(Definition::Linked);
    let site = Site(mating.site);
    let (stage, family) = (mating.stage.into(), Family(mating.family));
    let criteria = Criteria(mating.criteria);
    let after_fault = AfterFault::of_mating(mating.after_fault);
    let coverage = mating.coverage;
    for (since, entered, left) in changes(linked, times, 1) {
        let cell = risk_sets::Key {
            week,
            quarter,
            site,
            stage,
            family,
            criteria,
            after_fault,
            coverage,
            since,
        };
        counts.risk_sets.add(Some(cell), risk_sets::Row { entered, left });
    }
    if !mating.faults.is_empty() {
        for definition in [Definition::Linked, Definition::Any, Definition::Control] {
            let more = followed(definition);
            let mut add = |since, row| {
                let cell = risk_faults::Key {
                    definition,
                    week,
                    quarter,
                    site,
                    stage,
                    family,
                    criteria,
                    after_fault,
                    coverage,
                    since,
                };
                counts.risk_faults.add(Some(cell), row);
            };
            if let Some(since) = fault_at(more, times) {
                add(since, ONE_FAULT);
            }
            difference((linked, more), times, add);
        }
    }
    if !mating.after_fault {
        tally_variants(mating, (&stratum, times), linked, with, &mut counts.risk_variants);
    }
}

fn tally_variants(
    mating: &Mating,
    (stratum, times): (&RiskStratum, &[u32]),
    linked: Places,
    with: &Following,
    table: &mut CountTable<RiskVariants>,
) {
    let coverage = mating.coverage;
    if !mating.faults.is_empty() {
        let others =
            [(Variant::Confirmed, Definition::Confirmed), (Variant::Suspect, Definition::Suspect)];
        for (variant, definition) in others {
            let more = places(AtRisk::of(mating, definition, with.rules), times);
            let cell = |since| Some(variant_cell(variant, stratum, coverage, since));
            if let Some(since) = fault_at(more, times) {
                table.add(cell(since), ONE_FAULT);
            }
            difference((linked, more), times, |since, row| table.add(cell(since), row));
        }
    }
    for (at, (other, _)) in mating.by_window.into_iter().enumerate() {
        let variant = Variant::Window(at);
        if variant.is_the_rule(with.rules) {
            continue;
        }
        if let Some(since) = fault_at(linked, times) {
            table.add(Some(variant_cell(variant, stratum, other, since)), ONE_FAULT);
        }
        if other != coverage {
            for (class, less, more) in [(coverage, linked, None), (other, None, linked)] {
                difference((less, more), times, |since, row| {
                    table.add(Some(variant_cell(variant, stratum, class, since)), row);
                });
            }
        }
    }
    let cell = |since| Some(variant_cell(Variant::Timed, stratum, coverage, since));
    match (mating.day_only, fault_at(linked, times)) {
        (true, _) => {
            difference((linked, None), times, |since, row| table.add(cell(since), row));
        }
        (false, Some(since)) => table.add(cell(since), ONE_FAULT),
        (false, None) => {}
    }
}

/// Where reseats count: how a mating is followed has its own times, so that the usual risk sets have no more cells.
fn tally_reseats(
    mating: &Mating,
    stratum: &RiskStratum,
    with: &Following,
    table: &mut CountTable<RiskVariants>,
) {
    let times = with.reseat_times.at(stratum);
    if times.is_empty() {
        return;
    }
    let followed = places(AtRisk::with_reseats(mating, with.rules), times);
    let cell = |since| Some(variant_cell(Variant::Reseats, stratum, mating.coverage, since));
    if let Some(since) = fault_at(followed, times) {
        table.add(cell(since), ONE_FAULT);
    }
    for (since, entered, left) in changes(followed, times, 1) {
        table.add(cell(since), risk_faults::Row { faults: 0, entered, left });
    }
}

/// Counts what another window of tickets makes of a mating, less what the rules do.
pub fn tally_moved_risk(moved: &Moved, times: &RiskTimes, table: &mut CountTable<RiskVariants>) {
    let Moved { variant, stratum, coverage, ruled, other } = moved;
    let times = times.at(stratum);
    let [less, more] = [*ruled, *other].map(|at_risk| places(at_risk, times));
    let cell = |since| Some(variant_cell(*variant, stratum, *coverage, since));
    for (places, faults) in [(less, -1), (more, 1)] {
        if let Some(since) = fault_at(places, times) {
            table.add(cell(since), risk_faults::Row { faults, ..ONE_FAULT });
        }
    }
    difference((less, more), times, |since, row| table.add(cell(since), row));
}
