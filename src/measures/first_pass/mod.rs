//! 5.1, Q1: how clean end faces arrive.
//!
//! The share of visits that begin with a look and whose look passes. Interval: Clopper-Pearson on the
//! effective sample (Korn & Graubard 1998), with the design effect of work orders within site (else
//! site-days), or of blocks of a site's time as long as its luck lasts, as Rao & Scott (1992), drawn towards that of the
//! other rows. Headline: routine visits.

mod declared;
mod site_ranking;
mod weeks;

use crate::by;
use crate::derive::counts::{
    Cap, Counted, EndSide, Family, FirstLooks, Has, QuarterNo, Site, Stage, Supplier, Suppliers,
    VisitRow, Visits, visits, work_orders,
};
use crate::derive::{ByColumns, Clusters, DeriveError, Group as Counts};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::results::Group;
use crate::measures::shared_luck::{block, blocks, look_clusters, of_looks};
use crate::stats::clustered::resembling_share;
use crate::stats::{ClusterSums, Estimate, Lasting, Rests, Span, wilson};

pub use declared::*;

/// Above this share of visits begun without a look the rest may be a selection.
pub(in crate::measures) const SELECTIVE: f64 = 0.2;

/// The table of first pass.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn first_pass(evidence: &Evidence) -> Result<Table, DeriveError> {
    let mut table = Table::default();
    let routine = evidence.reviewed().with([VisitRow::Routine]);
    let lasting = of_looks(evidence);
    for ((by, columns), (_, of_clusters)) in groupings::<Visits>().into_iter().zip(groupings()) {
        let visits = evidence.groups(&routine, &columns)?;
        let clusters = look_clusters(evidence, &evidence.reviewed(), &of_clusters)?;
        clustered_rows(evidence, (by, &columns), &visits, (&clusters, lasting), &mut table);
    }
    let columns = by!(Supplier);
    let visits = evidence.groups::<Suppliers>(&evidence.reviewed(), &columns)?;
    let clusters = look_clusters(evidence, &evidence.reviewed(), &by!(Supplier))?;
    clustered_rows(evidence, (By::Supplier, &columns), &visits, (&clusters, lasting), &mut table);
    kinds_of_visit(evidence, &mut table)?;
    // Work orders are kept for few quarters: the trend rests on site-weeks at least.
    let lasting = lasting.at_least(Span::Week);
    let columns = by!(QuarterNo);
    let routine = evidence.until_period().with([VisitRow::Routine]);
    let visits = evidence.groups::<Visits>(&routine, &columns)?;
    let looks = evidence.until_period::<FirstLooks>();
    let clusters = blocks(evidence, &looks, &by!(QuarterNo), lasting.span)?;
    clustered_rows(evidence, (By::Quarter, &columns), &visits, (&clusters, lasting), &mut table);
    self::site_ranking::site_ranking(evidence, &mut table)?;
    self::weeks::first_pass_weeks(evidence, &mut table)?;
    Ok(table)
}

/// Groupings that visits and the clusters of first looks have alike.
fn groupings<T>() -> [(By, ByColumns<T>); 8]
where
    T: Has<Site> + Has<Stage> + Has<Family> + Has<EndSide> + Has<Cap>,
{
    [
        (By::Fleet, by!()),
        (By::Stage, by!(Stage)),
        (By::Family, by!(Family)),
        (By::StageFamily, by!(Stage, Family)),
        (By::Side, by!(EndSide)),
        (By::Site, by!(Site)),
        (By::Capped, by!(Cap)),
        (By::StageCapped, by!(Stage, Cap)),
    ]
}

/// A row a kind of visit. Clusters of visits that are not routine are not kept: there is no design effect, and intervals
/// are too short wherever visits of a work order are alike (.74 to .93 for .95 by simulation).
fn kinds_of_visit(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    let kinds = evidence.along::<VisitRow, Visits>(&evidence.reviewed(), &by!())?;
    for (kind, counts) in kinds.iter().flat_map(|fleet| &fleet.cells) {
        let estimate = wilson(counts.clean as f64, counts.looks as f64, evidence.rules().level);
        let own = Own { visit_kind: Some(VisitKind::from(*kind)), ..Own::default() };
        let row = row(evidence, (By::VisitKind, Group::default()), counts, &estimate, own);
        table.rows.push(row.flagged(Some(Flag::Narrow)));
    }
    Ok(())
}

/// What a share of clean first looks rests on.
fn sums_of<T: Counted<Row = work_orders::Row>>(clusters: &Clusters<T>) -> ClusterSums {
    clusters.sums(|row| (row.looks, row.clean))
}

/// Rows of visits, with the design effect of the clusters of the same groups, which are as long as luck lasts.
fn clustered_rows<V, C>(
    evidence: &Evidence,
    (by, columns): (By, &ByColumns<V>),
    visits: &[Counts<V>],
    (clusters, lasting): (&[Clusters<C>], Lasting),
    table: &mut Table,
) where
    V: Counted<Row = visits::Row>,
    C: Counted<Row = work_orders::Row>,
{
    let level = evidence.rules().level;
    let sums: Vec<ClusterSums> = visits
        .iter()
        .map(|group| clusters.iter().find(|found| found.words == group.words))
        .map(|found| found.map(sums_of).unwrap_or_default())
        .collect();
    for (Counts { words, counts, .. }, rests) in visits.iter().zip(lasting.rests(&sums)) {
        let Rests { resemblance, clusters } = rests;
        // Supplier rows count fewer visits than their clusters do: they take the clusters' effect.
        let counted = (counts.clean.max(0) as u64, counts.looks.max(0) as u64);
        let estimate = resembling_share(counted, clusters, resemblance, level);
        let (deff, block) = (Some(resemblance.deff.max(1.0)), block(lasting.span));
        let few = clusters < evidence.rules().few_clusters.into();
        let own = Own { deff, block, clusters: Some(clusters), ..Own::default() };
        let group = Group::of(&columns.columns(), words);
        let row = row(evidence, (by, group), counts, &estimate, own);
        let narrow = lasting.narrow.then_some(Flag::Narrow);
        table.rows.push(row.flagged(few.then_some(Flag::FewClusters)).flagged(narrow));
    }
}

fn row(
    evidence: &Evidence,
    (by, group): (By, Group),
    counts: &visits::Row,
    estimate: &Estimate,
    own: Own,
) -> Row {
    let visits::Row { visits, looks, clean, contaminated, defective, unclear, .. } = *counts;
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
