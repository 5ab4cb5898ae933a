//! 5.2: what cleaning leaves, what it does to an end face that was clean, and how often it comes before
//! anybody looked.

use super::declared::{By, Own, Quantity, Row, Table};
use crate::by;
use crate::derive::DeriveError;
use crate::derive::counts::{Cleanings, Method, Stage, VisitRow, Visits};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::results::Group;
use crate::stats::wilson;

fn share(
    evidence: &Evidence,
    by: By,
    group: Group,
    quantity: Quantity,
    (events, n): (i64, i64),
) -> Row {
    let estimate = wilson(events as f64, n as f64, evidence.rules().level);
    Row::of(by, group, quantity, &estimate, Own::default())
        .flagged((n < evidence.rules().least_count.into()).then_some(Flag::Thin))
}

/// Adds the cycles that ended contaminated, and the clean end faces that cleaning soiled.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn cleanings(
    evidence: &Evidence,
    table: &mut Table,
) -> Result<(), DeriveError> {
    for (by, columns) in [(By::Fleet, by!()), (By::Treatment, by!(Method))] {
        for found in evidence.groups::<Cleanings>(&evidence.looked_back(), &columns)? {
            let counts = found.counts;
            let group = Group::of(&columns.columns(), &found.words);
            let left = (counts.contaminated, counts.cycles);
            let quantity = Quantity::LeftContaminated;
            table.rows.push(share(evidence, by, group.clone(), quantity, left));
            if counts.while_clean_seen > 0 {
                let soiled = (counts.soiled, counts.while_clean_seen);
                table.rows.push(share(evidence, by, group, Quantity::Soiled, soiled));
            }
        }
    }
    Ok(())
}

/// Adds the visits that began with a cleaning that nobody had looked before. No tool reaches a sealed
/// lens, so its visits are left out.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn begun_unseen(
    evidence: &Evidence,
    table: &mut Table,
) -> Result<(), DeriveError> {
    let cleanable = VisitRow::ALL.iter().copied().filter(|row| *row != VisitRow::Sealed);
    let rows = evidence.looked_back().with(cleanable);
    for (by, columns) in [(By::Fleet, by!()), (By::Stage, by!(Stage))] {
        for found in evidence.groups::<Visits>(&rows, &columns)? {
            let group = Group::of(&columns.columns(), &found.words);
            let unseen = (found.counts.visits - found.counts.looks, found.counts.visits);
            table.rows.push(share(evidence, by, group, Quantity::CleanedUnseen, unseen));
        }
    }
    Ok(())
}
