//! How much of what is worked on the register of end faces knows.

use super::declared::{By, Own, Quantity, Row, Table};
use super::sources::{Sources, of_fleet};
use crate::by;
use crate::derive::counts::{EndFaces, Site};
use crate::derive::{ByColumns, DeriveError, Rows};
use crate::measures::results::Group;

/// Share of end faces that are in the register, of the fleet and by site; end faces that only the register knows;
/// attributes that disagree with it.
pub(super) fn rows(from: &Sources, table: &mut Table) -> Result<(), DeriveError> {
    let evidence = from.evidence;
    for (by, columns) in [(By::Fleet, by!()), (By::Site, by!(Site))] {
        let columns: ByColumns<EndFaces> = columns;
        for found in evidence.groups::<EndFaces>(&Rows::all(), &columns)? {
            let counts = found.counts;
            if counts.named > 0 {
                let group = Group::of(&columns.columns(), &found.words);
                let share = counts.registered as f64 / counts.named as f64;
                let (quantity, own) = (Quantity::Registered, Own::default());
                let row = Row::figure(by, group, quantity, share, "count", own);
                let (n, events) = (counts.named as f64, Some(counts.registered));
                table.rows.push(Row { n, events, ..row });
            }
            if by == By::Fleet {
                let only = (Quantity::OnlyRegistered, counts.only_registered);
                table.rows.push(of_fleet(only.0, only.1, Own::default()));
            }
        }
    }
    let conflicts = evidence.derived.counts.conflicts as i64;
    table.rows.push(of_fleet(Quantity::Conflicts, conflicts, Own::default()));
    Ok(())
}
