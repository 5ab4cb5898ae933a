//! What trust is measured from (5.10): looks taken twice, end faces and the register, faults after matings with both
//! ends seen.

use super::codes::*;
use super::declare::{declare_counts, declare_part};
use super::table::CountTable;
use crate::derive::face::agreement::LookPair;
use crate::derive::mating::describe::{Mating, Span};
use crate::derive::mating::follow_up::{Definition, Followed, Following};

declare_counts! {
    /// Pairs of looks in a row at one end face by different people or instruments (5.10).
    look_pairs: LookPairs by { quarter: QuarterNo, site: Site } counting {
        /// Pairs.
        pairs: Count,
        /// Of which both looks passed.
        both_passed: Count,
        /// Of which the first passed and the second failed.
        then_failed: Count,
        /// Of which the first failed and the second passed.
        then_passed: Count,
    }

    /// End faces that anything names, and those of the register (5.10).
    end_faces: EndFaces by { site: Site } counting {
        /// End faces that a look, a cleaning or a mating names.
        named: Count,
        /// Of these, those in the register.
        registered: Count,
        /// End faces of the register that nothing else names.
        only_registered: Count,
    }

    /// Matings with both ends seen, and the first linked fault within 30 days, by what the looks were judged by (5.10).
    escapes: Escapes by {
        quarter: QuarterNo, site: Site, criteria: LookCriteria, grading: GradedBy, band: Band,
    } counting {
        /// Matings, in the band in which their follow-up begins.
        started: Count,
        /// First linked faults.
        faults: Count,
        /// Time to them or to the end of follow-up.
        seconds: Seconds,
    }
}

declare_part! {
    /// What trust is measured from.
    TrustCounts {
        look_pairs: CountTable<LookPairs>,
        end_faces: CountTable<EndFaces>,
        escapes: CountTable<Escapes>,
    }
}

/// Counts two looks in a row.
pub fn tally_look_pair(pair: &LookPair, quarter: Option<QuarterNo>, counts: &mut TrustCounts) {
    let cell = quarter.map(|quarter| look_pairs::Key { quarter, site: Site(pair.site) });
    let said = |passed: [bool; 2]| i64::from(pair.passed == passed);
    let row = look_pairs::Row {
        pairs: 1,
        both_passed: said([true, true]),
        then_failed: said([true, false]),
        then_passed: said([false, true]),
    };
    counts.look_pairs.add(cell, row);
}

/// Counts an end face of a site: whether it is in the register, and whether anything else names it.
pub fn tally_end_face(site: u32, registered: bool, named: bool, counts: &mut TrustCounts) {
    let row = end_faces::Row {
        named: named.into(),
        registered: (named && registered).into(),
        only_registered: (registered && !named).into(),
    };
    counts.end_faces.add(Some(end_faces::Key { site: Site(site) }), row);
}

/// Counts a mating with both ends seen, and how it was followed.
pub(super) fn tally(mating: &Mating, with: &Following, counts: &mut TrustCounts) {
    if mating.coverage != Coverage::Both {
        return;
    }
    let started = escapes::Row { started: 1, ..Default::default() };
    let bands = &with.escape_bands;
    let end = mating.at.saturating_add(bands.horizon());
    let span = with.at_risk(mating).filter(|span| span.from <= end);
    let quarter = with.calendar.quarters.piece(mating.at).map(QuarterNo);
    let (Some(quarter), Some(span)) = (quarter, span) else {
        counts.escapes.add(None, started);
        return;
    };
    let span = Span { to: span.to.min(end), ..span };
    let first = bands.band(span.from - mating.at);
    let followed = Followed::of(mating, span, |fault| Definition::Linked.holds(fault));
    for band in 0..bands.count() {
        let mut row = if band == first { started } else { escapes::Row::default() };
        if let Some(followed) = followed {
            (row.faults, row.seconds) = followed.in_band(bands, band, mating.at);
        }
        let cell = escapes::Key {
            quarter,
            site: Site(mating.site),
            criteria: LookCriteria(mating.judged.criteria),
            grading: mating.judged.grading,
            band: Band(band as u32),
        };
        counts.escapes.add(Some(cell), row);
    }
}
