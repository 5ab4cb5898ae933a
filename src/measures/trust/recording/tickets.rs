//! Tickets by coverage: whether tickets of well-inspected matings can be lost.
//!
//! A ticket that names the record of its mating finds it; one that does not may fail to. Where tickets of one coverage name
//! their mating less often than those of another, inside a site and a level, more of them can be lost. A loss of all
//! tickets of a coverage, whatever their cause, shows in the negative control: causes that dirt cannot produce then differ
//! as well.

use std::collections::BTreeMap;

use super::super::declared::{By, Own, Quantity, Recording, Row, Table};
use super::super::sources::Sources;
use super::cells::{Unclustered, cautious_slope};
use super::check::difference;
use crate::by;
use crate::calendar::MONTH_S;
use crate::derive::counts::{
    Coverage, Family, FaultRecords, How, Level, LookedAt, MonthNo, QuarterNo, Site, Stage,
    fault_records,
};
use crate::derive::{DeriveError, Rows};
use crate::measures::evidence::Evidence;
use crate::measures::results::Group;
use crate::measures::skipped_cost::Exposure;
use crate::stats::wilson;
use crate::stats::within::WithinRow;
use crate::stats::{PersonTime, mantel_haenszel};

pub(super) fn rows(from: &Sources, table: &mut Table) -> Result<(), DeriveError> {
    let evidence = from.evidence;
    let level = evidence.rules().level;
    let lost = Recording::TicketsLost;
    let columns = by!(Coverage);
    for found in evidence.along::<How, FaultRecords>(&evidence.looked_back(), &columns)? {
        let [all, named] = named(&found.cells);
        let estimate = wilson(named as f64, all as f64, level);
        let group = Group::of(&columns.columns(), &found.words);
        let own = Own { recording: Some(lost), ..Own::default() };
        table.rows.push(Row::of(
            By::Coverage,
            group,
            Quantity::TicketsNamingMating,
            &estimate,
            own,
        ));
    }
    let mut inside = Vec::new();
    let columns = by!(Site, Level, Coverage, QuarterNo);
    for found in evidence.along::<How, FaultRecords>(&evidence.looked_back(), &columns)? {
        let coverage = Coverage::ALL.iter().find(|class| class.word() == found.words[2]);
        let side = coverage.and_then(|class| Exposure::Skipped.side(*class));
        let Some(is_skipped) = side else { continue };
        let [all, named] = named(&found.cells);
        inside.push(Unclustered {
            row: WithinRow {
                stratum: u64::from(found.places[0]) << 8 | u64::from(found.places[1]),
                cluster: 0,
                n: all,
                events: named,
                at: f64::from(!is_skipped),
            },
            site: found.places[0],
            month: found.places[3],
        });
    }
    let found = cautious_slope(&inside, level);
    table.rows.push(difference(Quantity::TicketsByCoverage, lost, &found, |_| true));
    table.rows.push(control(evidence)?);
    Ok(())
}

/// Largest p value with which the control speaks; it tests one hypothesis, where the others share theirs among several.
const CONTROL_SPEAKS: f64 = 0.01;

/// Faults, and those that name the record of their mating.
fn named(cells: &[(How, fault_records::Row)]) -> [u64; 2] {
    let sum = |of: &dyn Fn(&How) -> bool| {
        let counted = cells.iter().filter(|(how, _)| of(how)).map(|(_, row)| row.faults);
        u64::try_from(counted.sum::<i64>()).unwrap_or(0)
    };
    [sum(&|_| true), sum(&|how| *how == How::ByRecord)]
}

/// The negative control with all that is recorded: matings of every month, followed for as long as they were in force. The
/// headline's own follows those of a year for a quarter, and hears a loss of a third in every other fleet at most.
fn control(evidence: &Evidence) -> Result<Row, DeriveError> {
    let mut strata: Vec<PersonTime> = Vec::new();
    for found in evidence.along::<MonthNo, LookedAt>(&Rows::all(), &by!(Site, Stage, Family))? {
        let amount = |count: i64| u64::try_from(count).unwrap_or(0);
        // Quarters have too few matings of one place to be on both sides of the comparison.
        let mut halves: BTreeMap<Option<u32>, PersonTime> = BTreeMap::new();
        for (month, row) in &found.cells {
            let half = evidence.quarter_of(*month).map(|quarter| quarter.0 / 2);
            let stratum = halves.entry(half).or_default();
            stratum.d1 += amount(row.control_skipped);
            stratum.t1 += row.control_skipped_s as f64 / MONTH_S;
            stratum.d0 += amount(row.control_both);
            stratum.t0 += row.control_both_s as f64 / MONTH_S;
        }
        strata.extend(halves.into_values());
    }
    let found = mantel_haenszel(&strata, evidence.rules().level);
    let p = found.ratio.value.map(|_| found.test.p);
    let own = Own {
        recording: Some(Recording::TicketsLost),
        suspected: p.map(|p| p <= CONTROL_SPEAKS),
        p,
        ..Own::default()
    };
    Ok(Row::of(By::Fleet, Group::default(), Quantity::ControlRatio, &found.ratio, own))
}
