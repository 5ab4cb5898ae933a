//! 5.1, Q1: how clean end faces arrive.
//!
//! The share of visits that begin with a look and whose look passes. Interval: Wilson on the
//! effective sample, with the design effect of work orders within site (else site-days) as Rao &
//! Scott (1992). Headline: routine visits.

mod site_ranking;
mod weeks;

use crate::derive::{Cell, DeriveError, Only};
use crate::measures::evidence::{Evidence, Grouping, cluster_sums};
use crate::measures::flag::Flag;
use crate::measures::table::{Group, Row, Table, Unit, Value};
use crate::stats::clustered::widened_design_effect;
use crate::stats::{Estimate, design_effect, effective_wilson, wilson};

const OWN: &[&str] = &[
    "deff",
    "clusters",
    "cleaned_unseen",
    "contaminated",
    "defective",
    "unclear",
    "centre",
    "signal",
    "n_effective",
    "distance",
    "expected_rank",
    "rank",
    "probability",
];
const SUMS: &[&str] = &["visits", "looks", "clean", "contaminated", "defective", "unclear"];
const WITHIN: &[&str] = &["site", "cluster_high", "cluster_low"];
const GROUPINGS: &[Grouping] = &[
    ("fleet", &[]),
    ("stage", &["stage"]),
    ("family", &["family"]),
    ("stage+family", &["stage", "family"]),
    ("side", &["side"]),
    ("site", &["site"]),
    ("capped", &["capped"]),
    ("stage+capped", &["stage", "capped"]),
];
/// Above this share of visits begun without a look the rest may be a selection.
pub(in crate::measures) const SELECTIVE: f64 = 0.2;

/// The table of first pass.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn first_pass(evidence: &Evidence) -> Result<Table, DeriveError> {
    let mut table = Table::empty("first_pass", OWN);
    let routine = evidence.period().with("row", &["routine"]);
    let clusters =
        Clusters { table: evidence.first_look_clusters(), only: evidence.period(), within: WITHIN };
    for grouping in GROUPINGS {
        clustered_rows(evidence, ("visits", &routine), &clusters, *grouping, &mut table)?;
    }
    let suppliers = ("suppliers", &evidence.period());
    clustered_rows(evidence, suppliers, &clusters, ("supplier", &["supplier"]), &mut table)?;
    for cell in evidence.cells("visits", &evidence.period(), &["row"], SUMS)? {
        // The kind of visit stands where the coverage of a mating does in other tables.
        let group = Group { coverage: cell.group.first().cloned(), ..Group::default() };
        table.rows.push(plain_row(evidence, "row", group, &cell));
    }
    // Work orders are kept for few quarters: the trend rests on site-weeks.
    let trend = evidence.so_far().with("row", &["routine"]);
    let site_weeks =
        Clusters { table: "first_looks", only: evidence.so_far(), within: &["site", "week"] };
    let quarters = ("quarter", &["quarter"][..]);
    clustered_rows(evidence, ("visits", &trend), &site_weeks, quarters, &mut table)?;
    self::site_ranking::site_ranking(evidence, &mut table)?;
    self::weeks::first_pass_weeks(evidence, &mut table)?;
    Ok(table)
}

/// First looks by cluster: which count table, which rows of it, which columns make a cluster.
struct Clusters {
    table: &'static str,
    only: Only,
    within: &'static [&'static str],
}

/// Rows whose design effect is known, from a table of visits.
fn clustered_rows(
    evidence: &Evidence,
    (visits, only): (&'static str, &Only),
    clusters: &Clusters,
    (by, columns): Grouping,
    table: &mut Table,
) -> Result<(), DeriveError> {
    let frame = evidence.frame(clusters.table)?;
    let sums = frame.cluster_sums(&clusters.only, columns, clusters.within, ["looks", "clean"])?;
    for cell in evidence.cells(visits, only, columns, SUMS)? {
        let own =
            sums.iter().find(|sums| sums.group == cell.group).map(cluster_sums).unwrap_or_default();
        let level = evidence.rules().level;
        let (looks, clean) = (cell.sums[1], cell.sums[2]);
        // Supplier rows count fewer visits than their clusters do: they take the clusters' effect.
        let estimate = match own.n as i64 == looks && own.events as i64 == clean {
            true => effective_wilson(&own, level),
            false => deflated(looks, clean, widened_design_effect(&own, level), level),
        };
        let deff =
            if clean == 0 || clean == looks { 1.0 } else { design_effect(&own).deff.max(1.0) };
        let mut row = row(evidence, by, Group::of(columns, &cell.group), &cell, estimate);
        row.own[0] = Value::Number(deff);
        row.own[1] = Value::Count(own.clusters as i64);
        table.rows.push(row.flagged(
            (own.clusters < evidence.rules().few_clusters.into()).then_some(Flag::FewClusters),
        ));
    }
    Ok(())
}

fn deflated(looks: i64, clean: i64, deff: f64, level: f64) -> Estimate {
    let deff = if deff.is_finite() { deff.max(1.0) } else { 1.0 };
    let mut estimate = wilson(clean as f64 / deff, looks as f64 / deff, level);
    (estimate.n, estimate.events) = (looks as f64, clean as u64);
    estimate
}

/// A row without a design effect: clusters of visits that are not routine are not kept.
fn plain_row(evidence: &Evidence, by: &'static str, group: Group, cell: &Cell) -> Row {
    let estimate = wilson(cell.sums[2] as f64, cell.sums[1] as f64, evidence.rules().level);
    row(evidence, by, group, cell, estimate)
}

fn row(
    evidence: &Evidence,
    by: &'static str,
    group: Group,
    cell: &Cell,
    estimate: Estimate,
) -> Row {
    let (visits, looks) = (cell.sums[0], cell.sums[1]);
    let unseen_share = (visits > 0).then(|| (visits - looks) as f64 / visits as f64);
    let mut row = Row::of(by, group, "first-pass-clean", Unit::Share, &estimate);
    (row.n, row.events) = (looks as f64, Some(cell.sums[2]));
    let count = |at: usize| Value::Count(cell.sums[at]);
    let (none, unseen) = (|| Value::Missing, Value::from(unseen_share));
    let mut own = vec![none(), none(), unseen, count(3), count(4), count(5)];
    own.resize(OWN.len(), Value::Missing);
    row.with(own)
        .flagged((looks < evidence.rules().least_count.into()).then_some(Flag::Thin))
        .flagged(unseen_share.is_some_and(|unseen| unseen > SELECTIVE).then_some(Flag::Selective))
}
