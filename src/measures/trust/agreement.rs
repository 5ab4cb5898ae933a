//! Whether two people or two instruments that look at one end face, one right after the other, say the same (5.10).
//!
//! Fleiss' kappa is the headline, since the two of a pair need not be the same two people each time; Cohen's, which takes
//! first and second looks apart, stands with it. Both say how far looks agree beyond chance among the looks that were
//! taken twice. Where these fail far more or less often than looks in general, second looks were asked for, and
//! neither kappa holds for looks in general.

use super::declared::{By, LooksOf, Own, Quantity, Row, Table};
use super::sources::Sources;
use crate::by;
use crate::derive::counts::{LookPairs, Site, Unreadable, look_pairs};
use crate::derive::{ByColumns, DeriveError};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::results::Group;
use crate::stats::agreement::{Kappa, Rated, cohen, fleiss};
use crate::stats::{Estimate, wilson};

pub(super) fn rows(from: &Sources, table: &mut Table) -> Result<(), DeriveError> {
    let evidence = from.evidence;
    for (by, columns) in [(By::Fleet, by!()), (By::Site, by!(Site))] {
        let columns: ByColumns<LookPairs> = columns;
        for found in evidence.groups::<LookPairs>(&evidence.looked_back(), &columns)? {
            let group = Group::of(&columns.columns(), &found.words);
            kappas(evidence, (by, group), &found.counts, table);
        }
    }
    failing(evidence, table)
}

/// Both kappas of a group, and the share of its first looks that failed.
fn kappas(
    evidence: &Evidence,
    (by, group): (By, Group),
    pairs: &look_pairs::Row,
    table: &mut Table,
) {
    let level = evidence.rules().level;
    let count = |count: i64| count.max(0) as u64;
    let [passed, down, up] = [pairs.both_passed, pairs.then_failed, pairs.then_passed].map(count);
    let differing = down.saturating_add(up);
    let failed = count(pairs.pairs).saturating_sub(passed.saturating_add(differing));
    let rated = |votes: [u64; 2], subjects| Rated { votes: votes.to_vec(), subjects };
    let of_two =
        fleiss(&[rated([2, 0], passed), rated([1, 1], differing), rated([0, 2], failed)], level);
    let in_turn = cohen(&[vec![passed, down], vec![up, failed]], level);
    let few = |pairs: u64| (pairs < evidence.rules().least_count.into()).then_some(Flag::Thin);
    let mut push = |quantity, estimate: &Estimate, own, thin: Option<Flag>| {
        table.rows.push(Row::of(by, group.clone(), quantity, estimate, own).flagged(thin));
    };
    // Agreement beyond chance rests on the rarer answer: of a thousand pairs that nearly all pass a few decide.
    let rarer = differing.saturating_add(passed.min(failed));
    for (quantity, Kappa { kappa, .. }) in
        [(Quantity::Agreement, of_two), (Quantity::AgreementInTurn, in_turn)]
    {
        push(quantity, &kappa, Own::default(), few(rarer));
    }
    let thin = few(count(pairs.pairs));
    let all = passed.saturating_add(differing).saturating_add(failed) as f64;
    let first = wilson(up.saturating_add(failed) as f64, all, level);
    push(
        Quantity::FailingLooks,
        &first,
        Own { looks: Some(LooksOf::FirstOfPair), ..Own::default() },
        thin,
    );
    let second = wilson(down.saturating_add(failed) as f64, all, level);
    push(
        Quantity::FailingLooks,
        &second,
        Own { looks: Some(LooksOf::SecondOfPair), ..Own::default() },
        thin,
    );
}

/// The share of all readable looks of the months looked back that failed, of the fleet and by site.
fn failing(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    let rows = evidence.looked_back_months();
    for (by, columns) in [(By::Fleet, by!()), (By::Site, by!(Site))] {
        let columns: ByColumns<Unreadable> = columns;
        for found in evidence.groups::<Unreadable>(&rows, &columns)? {
            let readable = found.counts.looks.saturating_sub(found.counts.unreadable).max(0);
            let estimate =
                wilson(found.counts.failing as f64, readable as f64, evidence.rules().level);
            let group = Group::of(&columns.columns(), &found.words);
            let own = Own { looks: Some(LooksOf::All), ..Own::default() };
            // Looks of one visit hang together; they are counted by month, not by visit.
            let row = Row::of(by, group, Quantity::FailingLooks, &estimate, own);
            table.rows.push(row.flagged([Flag::Narrow]));
        }
    }
    Ok(())
}
