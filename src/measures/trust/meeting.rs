//! Whether sources name end faces alike (R8), which matings are left out since they do not, and which sources of tickets
//! find too few matings to be believed.

use super::declared::{By, Own, Quantity, Row, Table};
use super::sources::Sources;
use crate::by;
use crate::derive::counts::{Coverage, Matings, Site};
use crate::derive::{Alike, DeriveError, PairMeeting, RuleTried};
use crate::measures::evidence::{Evidence, names_apart};
use crate::measures::flag::Flag;
use crate::measures::results::Group;
use crate::stats::wilson;

/// What is written of names that would meet if both sources had one scope.
const ONE_SCOPE: &str = "the same end_face_names and one_name_both_sides";

pub(super) fn rows(from: &Sources, table: &mut Table) -> Result<(), DeriveError> {
    let evidence = from.evidence;
    let level = evidence.rules().level;
    for pair in &evidence.derived.meeting.pairs {
        pair_rows(pair, level, table);
    }
    apart(evidence, table)?;
    for withdrawn in &evidence.derived.withdrawn {
        let (found, all) = (withdrawn.tickets.attached, withdrawn.tickets.tickets);
        let own = Own { source: Some(withdrawn.source.clone()), ..Own::default() };
        let estimate = wilson(found as f64, all as f64, level);
        let group = Group::default();
        table.rows.push(Row::of(By::Fleet, group, Quantity::CoverWithdrawn, &estimate, own));
    }
    for account in &evidence.derived.meeting.aliases {
        let own = Own {
            source: Some(account.source.clone()),
            file: Some(account.file.clone()),
            blake3: Some(account.blake3.clone()),
            read: Some(account.read),
            loaded: Some(account.used),
            duplicate: Some(account.doubled),
            quarantined: Some(account.refused),
            ..Own::default()
        };
        let read = i64::try_from(account.read).unwrap_or(i64::MAX);
        table.rows.push(Row::count(By::File, Group::default(), Quantity::AliasRows, read, own));
    }
    Ok(())
}

/// What two tables of a site call end faces.
fn pair_rows(pair: &PairMeeting, level: f64, table: &mut Table) {
    let group = Group { site: Some(pair.site.clone()), ..Group::default() };
    let seen_from = |at: usize| {
        let (one, other) = (&pair.speakers[at], &pair.speakers[1 - at]);
        Own {
            source: Some(one.source.clone()),
            table: Some(one.table),
            other_source: Some(other.source.clone()),
            other_table: Some(other.table),
            ..Own::default()
        }
    };
    for at in [0, 1] {
        let estimate = wilson(pair.met as f64, pair.names[at] as f64, level);
        let row = Row::of(By::Site, group.clone(), Quantity::NamesMet, &estimate, seen_from(at));
        // Names come in pairs, as end faces do.
        table.rows.push(row.flagged([Flag::Narrow]));
    }
    let scope = RuleTried { typed: ONE_SCOPE.to_owned(), brings: pair.told_apart, merges: [0, 0] };
    let scope = [scope].into_iter().filter(|scope| scope.brings != [0, 0]);
    for rule in scope.chain(pair.rules.iter().cloned()) {
        let [merged, other_merged] = rule.merges;
        let own = Own {
            rule: Some(rule.typed),
            merged: Some(merged),
            other_merged: Some(other_merged),
            ..seen_from(0)
        };
        let brings = i64::try_from(rule.brings.iter().sum::<u64>()).unwrap_or(i64::MAX);
        table.rows.push(Row::count(By::Site, group.clone(), Quantity::NamesRule, brings, own));
    }
    for Alike { names: [name, other], likeness } in &pair.alike {
        let own = Own { name: Some(name.clone()), other_name: Some(other.clone()), ..seen_from(0) };
        let quantity = Quantity::NamesAlike;
        let row = Row::figure(By::Site, group.clone(), quantity, *likeness, "edit distance", own);
        table.rows.push(row);
    }
}

/// Matings of the look-back that are left out: of the fleet, and of every site that has any.
fn apart(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    let level = evidence.rules().level;
    let share = |cells: &[(Coverage, i64)]| {
        let all: i64 = cells.iter().map(|(_, matings)| matings).sum();
        let apart = cells.iter().filter(|(class, _)| *class == Coverage::Apart);
        let apart: i64 = apart.map(|(_, matings)| matings).sum();
        (apart, wilson(apart as f64, all as f64, level))
    };
    let mut fleet: Vec<(Coverage, i64)> = Vec::new();
    let columns = by!(Site);
    for site in evidence.along::<Coverage, Matings>(&evidence.looked_back(), &columns)? {
        let cells: Vec<(Coverage, i64)> =
            site.cells.iter().map(|(class, counts)| (*class, counts.matings)).collect();
        let (apart, estimate) = share(&cells);
        fleet.extend(cells);
        if apart > 0 {
            let group = Group::of(&columns.columns(), &site.words);
            let own = Own::default();
            let row = Row::of(By::Site, group, Quantity::NamesApart, &estimate, own);
            table.rows.push(row.flagged(names_apart(estimate.value)));
        }
    }
    let (_, estimate) = share(&fleet);
    let (group, own) = (Group::default(), Own::default());
    let row = Row::of(By::Fleet, group, Quantity::NamesApart, &estimate, own);
    table.rows.push(row.flagged(names_apart(estimate.value)));
    Ok(())
}
