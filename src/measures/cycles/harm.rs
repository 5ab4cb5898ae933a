//! 5.2: what cleaning leaves, what it does to an end face that was clean, and how often it comes before
//! anybody looked.
//!
//! Intervals rest on site-weeks, or on longer blocks where the luck of cycles lasts longer (Rao & Scott 1992): an end face
//! that stays dirty counts at every cycle, and the end faces of one work order share their luck.

use super::declared::{By, Own, Quantity, Row, Table};
use crate::by;
use crate::derive::DeriveError;
use crate::derive::counts::{Beginnings, Cleanings, Method, Stage, beginnings, cleanings};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::results::Group;
use crate::measures::shared_luck::{blocks_or_weeks, of_cycles};
use crate::stats::{ClusterSums, effective_share};

fn share(
    evidence: &Evidence,
    (by, quantity): (By, Quantity),
    group: Group,
    (sums, narrow): (&ClusterSums, Option<Flag>),
) -> Row {
    let rules = evidence.rules();
    let estimate = effective_share(sums, rules.level);
    Row::of(by, group, quantity, &estimate, Own::default())
        .flagged((sums.n < rules.least_count.into()).then_some(Flag::Thin))
        .flagged(narrow)
}

/// Of units in all clusters, those with an event.
fn sums<R>(clusters: &[R], count: impl Fn(&R) -> (i64, i64)) -> ClusterSums {
    let mut sums = ClusterSums::default();
    for row in clusters {
        let (events, n) = count(row);
        sums.add(n.max(0).unsigned_abs(), events.max(0).unsigned_abs());
    }
    sums
}

/// Adds the cycles that ended contaminated, and the clean end faces that cleaning soiled.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn cleanings(
    evidence: &Evidence,
    table: &mut Table,
) -> Result<(), DeriveError> {
    let (rows, span) = (evidence.looked_back::<Cleanings>(), of_cycles(evidence).span);
    for (by, columns) in [(By::Fleet, by!()), (By::Treatment, by!(Method))] {
        for (found, narrow) in blocks_or_weeks(evidence, &rows, &columns, span)? {
            let group = Group::of(&columns.columns(), &found.words);
            let left = |row: &cleanings::Row| (row.contaminated, row.cycles);
            let left = sums(&found.clusters, left);
            let of = (by, Quantity::LeftContaminated);
            table.rows.push(share(evidence, of, group.clone(), (&left, narrow)));
            let soiled = |row: &cleanings::Row| (row.soiled, row.while_clean_seen);
            let soiled = sums(&found.clusters, soiled);
            if soiled.n > 0 {
                let of = (by, Quantity::Soiled);
                table.rows.push(share(evidence, of, group, (&soiled, narrow)));
            }
        }
    }
    Ok(())
}

/// Adds the visits that began with a cleaning that nobody had looked before. No tool reaches a recessed
/// lens, so its visits are not among them.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn begun_unseen(
    evidence: &Evidence,
    table: &mut Table,
) -> Result<(), DeriveError> {
    let (rows, span) = (evidence.looked_back::<Beginnings>(), of_cycles(evidence).span);
    for (by, columns) in [(By::Fleet, by!()), (By::Stage, by!(Stage))] {
        for (found, narrow) in blocks_or_weeks(evidence, &rows, &columns, span)? {
            let group = Group::of(&columns.columns(), &found.words);
            let unseen = |row: &beginnings::Row| (row.visits - row.looks, row.visits);
            let unseen = sums(&found.clusters, unseen);
            let of = (by, Quantity::CleanedUnseen);
            table.rows.push(share(evidence, of, group, (&unseen, narrow)));
        }
    }
    Ok(())
}
