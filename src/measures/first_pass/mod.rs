//! 5.1, Q1: how clean end faces arrive.
//!
//! The share of visits that begin with a look and whose look passes. Interval: Wilson on the
//! effective sample, with the design effect of work orders within site (else site-days) as Rao &
//! Scott (1992). Headline: routine visits.

mod declared;
mod site_ranking;
mod weeks;

use crate::derive::{Cell, DeriveError, Only};
use crate::measures::evidence::{Evidence, cluster_sums};
use crate::measures::flag::Flag;
use crate::measures::results::Group;
use crate::stats::clustered::widened_design_effect;
use crate::stats::{Estimate, design_effect, effective_wilson, wilson};

pub use declared::*;

const SUMS: &[&str] = &["visits", "looks", "clean", "contaminated", "defective", "unclear"];
const WITHIN: &[&str] = &["site", "cluster_high", "cluster_low"];
const GROUPINGS: [Grouping; 8] = [
    (By::Fleet, &[]),
    (By::Stage, &["stage"]),
    (By::Family, &["family"]),
    (By::StageFamily, &["stage", "family"]),
    (By::Side, &["side"]),
    (By::Site, &["site"]),
    (By::Capped, &["capped"]),
    (By::StageCapped, &["stage", "capped"]),
];
/// A grouping, and the columns of the count tables that it stands for.
type Grouping = (By, &'static [&'static str]);
/// Above this share of visits begun without a look the rest may be a selection.
pub(in crate::measures) const SELECTIVE: f64 = 0.2;

/// The table of first pass.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn first_pass(evidence: &Evidence) -> Result<Table, DeriveError> {
    let mut table = Table::default();
    let routine = evidence.period().with("row", &["routine"]);
    let clusters =
        Clusters { table: evidence.first_look_clusters(), only: evidence.period(), within: WITHIN };
    for grouping in GROUPINGS {
        clustered_rows(evidence, ("visits", &routine), &clusters, grouping, &mut table)?;
    }
    let suppliers = ("suppliers", &evidence.period());
    clustered_rows(evidence, suppliers, &clusters, (By::Supplier, &["supplier"]), &mut table)?;
    for cell in evidence.cells("visits", &evidence.period(), &["row"], SUMS)? {
        let kind = cell.group.first().and_then(|word| VisitKind::of(word));
        let estimate = wilson(cell.sums[2] as f64, cell.sums[1] as f64, evidence.rules().level);
        // Clusters of visits that are not routine are not kept: there is no design effect.
        let own = Own { visit_kind: kind, ..Own::default() };
        table.rows.push(row(evidence, By::VisitKind, Group::default(), &cell, &estimate, own));
    }
    // Work orders are kept for few quarters: the trend rests on site-weeks.
    let trend = evidence.so_far().with("row", &["routine"]);
    let site_weeks =
        Clusters { table: "first_looks", only: evidence.so_far(), within: &["site", "week"] };
    let quarters = (By::Quarter, &["quarter"][..]);
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
        let few = own.clusters < evidence.rules().few_clusters.into();
        let own = Own { deff: Some(deff), clusters: Some(own.clusters), ..Own::default() };
        let row = row(evidence, by, Group::of(columns, &cell.group), &cell, &estimate, own);
        table.rows.push(row.flagged(few.then_some(Flag::FewClusters)));
    }
    Ok(())
}

fn deflated(looks: i64, clean: i64, deff: f64, level: f64) -> Estimate {
    let deff = if deff.is_finite() { deff.max(1.0) } else { 1.0 };
    let mut estimate = wilson(clean as f64 / deff, looks as f64 / deff, level);
    (estimate.n, estimate.events) = (looks as f64, clean as u64);
    estimate
}

fn row(
    evidence: &Evidence,
    by: By,
    group: Group,
    cell: &Cell,
    estimate: &Estimate,
    own: Own,
) -> Row {
    let [visits, looks, clean, contaminated, defective, unclear] =
        std::array::from_fn(|at| cell.sums[at]);
    let unseen = (visits > 0).then(|| (visits - looks) as f64 / visits as f64);
    let own = Own {
        cleaned_unseen: unseen,
        contaminated: Some(contaminated),
        defective: Some(defective),
        unclear: Some(unclear),
        ..own
    };
    let row = Row::of(by, group, Quantity::Clean, estimate, own);
    Row { n: looks as f64, events: Some(clean), ..row }
        .flagged((looks < evidence.rules().least_count.into()).then_some(Flag::Thin))
        .flagged(unseen.is_some_and(|unseen| unseen > SELECTIVE).then_some(Flag::Selective))
}
