//! Changes of shares (5.9): first pass, passing at the first cycle, matings skipped.
//!
//! Newcombe's hybrid score interval (1998) on effective sizes (Rao & Scott 1992) of the clusters that
//! the measure itself rests on: work orders for first pass, site-weeks for the others.

use super::{GROUPINGS, Pair, expects_too_few, side_by_side};
use crate::derive::{Cell, DeriveError, Only};
use crate::measures::evidence::{Evidence, Grouping, cluster_sums};
use crate::measures::first_pass::SELECTIVE;
use crate::measures::flag::Flag;
use crate::measures::table::{Group, Row, Table, Unit, Value};
use crate::stats::ClusterSums;
use crate::stats::share_change::{Sample, share_change};

/// Groupings that first pass alone has, by the table of visits that they are counted in.
const OF_VISITS: &[Grouping] = &[("side", &["side"])];
const OF_SUPPLIERS: &[Grouping] = &[("supplier", &["supplier"])];

/// A share, and where its counts and clusters stand.
struct Share {
    quantity: &'static str,
    /// Table of the counts.
    counted: &'static str,
    /// Rows of it that count, beside those of the quarter.
    rows: Option<(&'static str, &'static str)>,
    /// Units, events and, where that is known, units that might have been counted.
    sums: &'static [&'static str],
    /// Table of the clusters.
    clusters: &'static str,
    within: &'static [&'static str],
    /// Rows of it that count, beside those of the quarter.
    cluster_rows: Option<(&'static str, &'static str)>,
    /// Units and events there.
    cluster_sums: [&'static str; 2],
    groupings: [&'static [Grouping]; 2],
}

fn shares_of(evidence: &Evidence) -> [Share; 4] {
    let first_pass = Share {
        quantity: "first-pass-clean",
        counted: "visits",
        rows: Some(("row", "routine")),
        sums: &["looks", "clean", "visits"],
        clusters: evidence.first_look_clusters(),
        within: &["site", "cluster_high", "cluster_low"],
        cluster_rows: None,
        cluster_sums: ["looks", "clean"],
        groupings: [GROUPINGS, OF_VISITS],
    };
    let suppliers =
        Share { counted: "suppliers", rows: None, groupings: [OF_SUPPLIERS, &[]], ..first_pass };
    let site_weeks = |quantity, table, rows, sums: &'static [&'static str; 2]| Share {
        quantity,
        counted: table,
        rows,
        sums,
        clusters: table,
        within: &["site", "week"],
        cluster_rows: rows,
        cluster_sums: *sums,
        groupings: [GROUPINGS, &[]],
    };
    let first_cycle = Some(("cycle", "1"));
    [
        first_pass,
        suppliers,
        site_weeks("passed-first-cycle", "cycle_trials", first_cycle, &["trials", "passed"]),
        site_weeks("skipped", "mating_clusters", None, &["known", "skipped"]),
    ]
}

/// Adds the rows of all shares.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn shares(
    evidence: &Evidence,
    pair: &Pair,
    table: &mut Table,
) -> Result<(), DeriveError> {
    for share in shares_of(evidence) {
        for (by, columns) in share.groupings.into_iter().flatten() {
            let [now, before] = [
                share.sides(evidence, &pair.now, columns)?,
                share.sides(evidence, &pair.before, columns)?,
            ];
            for cells in side_by_side(now.0, before.0) {
                let sides = [Side::of(&cells[0], &now.1), Side::of(&cells[1], &before.1)];
                let words = cells.iter().flatten().next().map(|cell| cell.group.as_slice());
                let group = Group::of(columns, words.unwrap_or_default());
                table.rows.push(row(evidence, (by, group, share.quantity), pair, &sides, table));
            }
        }
    }
    Ok(())
}

impl Share {
    /// Counts and clusters of one quarter.
    fn sides(
        &self,
        evidence: &Evidence,
        quarter: &Only,
        columns: &[&'static str],
    ) -> Result<(Vec<Cell>, Vec<Cell>), DeriveError> {
        let only = |rows: Option<(&'static str, &'static str)>| match rows {
            Some((column, word)) => quarter.clone().with(column, &[word]),
            None => quarter.clone(),
        };
        let counted = evidence.cells(self.counted, &only(self.rows), columns, self.sums)?;
        let frame = evidence.frame(self.clusters)?;
        let within = only(self.cluster_rows);
        let clusters = frame.cluster_sums(&within, columns, self.within, self.cluster_sums)?;
        Ok((counted, clusters))
    }
}

/// One cell in one quarter.
struct Side {
    /// Units that might have been counted.
    possible: i64,
    sample: Sample,
}

impl Side {
    fn of(cell: &Option<Cell>, clusters: &[Cell]) -> Side {
        let none = ClusterSums::default();
        let Some(cell) = cell else { return Side { possible: 0, sample: Sample::of(&none) } };
        let own = clusters.iter().find(|sums| sums.group == cell.group);
        let sum = |at: usize| cell.sums[at].max(0) as u64;
        let sample = Sample::beside(sum(0), sum(1), &own.map_or(none, cluster_sums));
        Side { possible: cell.sums.get(2).map_or(cell.sums[0], |possible| *possible), sample }
    }

    fn value(&self) -> Option<f64> {
        (self.sample.n > 0).then(|| self.sample.events as f64 / self.sample.n as f64)
    }

    fn is_selective(&self) -> bool {
        let unseen = self.possible.saturating_sub(self.sample.n as i64);
        unseen as f64 > SELECTIVE * self.possible as f64
    }
}

fn row(
    evidence: &Evidence,
    (by, group, quantity): (&'static str, Group, &'static str),
    pair: &Pair,
    [now, before]: &[Side; 2],
    table: &Table,
) -> Row {
    let rules = evidence.rules();
    let change = share_change(&now.sample, &before.sample, rules.level);
    let count = |value: u64| Value::Count(i64::try_from(value).unwrap_or(i64::MAX));
    let [against, quarter] = pair.named();
    let own = table.fill(&[
        against,
        quarter,
        ("value", now.value().into()),
        ("n_before", Value::Number(before.sample.n as f64)),
        ("events_before", count(before.sample.events)),
        ("value_before", before.value().into()),
        ("p", Value::Number(change.p)),
        ("deff", Value::Number(now.sample.deff.max(1.0))),
        ("deff_before", Value::Number(before.sample.deff.max(1.0))),
        ("clusters", count(now.sample.clusters)),
        ("clusters_before", count(before.sample.clusters)),
    ]);
    let mut row = Row::of(by, group, quantity, Unit::Difference, &change.difference).with(own);
    (row.n, row.events) = (now.sample.n as f64, i64::try_from(now.sample.events).ok());
    let sizes = [now, before].map(|side| side.sample.n as f64);
    let clean = now.sample.events as f64 + before.sample.events as f64;
    let any = |such: &dyn Fn(&Side) -> bool| such(now) || such(before);
    row.flagged(any(&|side| side.sample.n < rules.least_count.into()).then_some(Flag::Thin))
        .flagged(expects_too_few(clean, sizes))
        .flagged(expects_too_few(sizes[0] + sizes[1] - clean, sizes))
        .flagged(
            any(&|side| side.sample.clusters < rules.few_clusters.into())
                .then_some(Flag::FewClusters),
        )
        .flagged(any(&Side::is_selective).then_some(Flag::Selective))
}
