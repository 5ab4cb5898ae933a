//! 5.2: one chance of passing for every end face, or a chance that differs between them.
//!
//! Geometric and beta-geometric distributions fitted to the cycle of the first pass; a visit that
//! ended otherwise is censored at the cycles it had. Limits are as wide as site-weeks, or longer blocks, scatter. A falling hazard tells that some dirt is
//! stubborn, and the fitted line what to expect of one more cycle.

use super::by_cycle::{Exits, Left, MOST_CYCLES};
use super::declared::{Bracket, By, Own, Quantity, Row, Table};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::results::Group;
use crate::stats::Warning;
use crate::stats::beta_geometric::{BetaGeometric, heterogeneity};
use crate::stats::clustered_trials::{beta_geometric_clustered, geometric_clustered};

/// Adds the fits of one group: the common chance; mean, `a` and `b` of chances that differ and the
/// test between the two; the fitted hazard of every cycle that was made.
///
/// `a` and `b` count cycles: an end face of its first cycle behaves as if `a` had passed and `b` had
/// failed before. Where the data know no `a` and `b` inside, their rows say `not-identified`.
pub(in crate::measures) fn fit_rows(evidence: &Evidence, by: By, exits: &Exits, table: &mut Table) {
    let (group, level) = (&exits.group, evidence.rules().level);
    let otherwise =
        |left: &Left| left.rejected.saturating_add(left.failing).saturating_add(left.unknown);
    let of_cluster = |own: &Vec<Left>| {
        let made = || own.iter().skip(1);
        (made().map(|left| left.passed).collect(), made().map(otherwise).collect())
    };
    let clusters: Vec<(Vec<u64>, Vec<u64>)> = exits.by_cluster.iter().map(of_cluster).collect();
    let common = geometric_clustered(&clusters, level);
    let mixed = beta_geometric_clustered(&clusters, level);
    let both = clusters.iter().flat_map(|(passed, ended)| passed.iter().chain(ended));
    let visits = both.fold(0u64, |sum, n| sum.saturating_add(*n));
    let cycles = clusters.iter().map(|(passed, _)| passed.len()).max().unwrap_or(0);
    let thin = (visits < evidence.rules().least_count.into()).then_some(Flag::Thin);
    let edge = mixed.mean.warnings.contains(&Warning::Boundary);
    let unknown = edge.then_some(Flag::NotIdentified);
    for (quantity, estimate, flag) in [
        (Quantity::CommonChance, &common.chance, None),
        (Quantity::MeanChance, &mixed.mean, None),
        (Quantity::ChanceA, &mixed.a, unknown),
        (Quantity::ChanceB, &mixed.b, unknown),
    ] {
        let own = Own { bracket: Some(Bracket::Censored), ..Own::default() };
        let row = Row::of(by, group.clone(), quantity, estimate, own);
        table.rows.push(row.flagged(flag).flagged(thin).flagged(exits.narrow));
    }
    let test = heterogeneity(&common, &mixed);
    let own = Own { p: Some(test.p).filter(|p| p.is_finite()), ..Own::default() };
    let method = "likelihood ratio over the scatter, p halved at the boundary";
    let quantity = Quantity::ChancesDiffer;
    let row = Row::figure(by, group.clone(), quantity, test.statistic, method, own);
    table.rows.push(Row { n: visits as f64, ..row }.flagged(thin).flagged(exits.narrow));
    if visits > 0 {
        hazards(by, group, (&mixed, cycles.min(MOST_CYCLES)), thin, table);
    }
}

/// The fitted hazard by cycle; at the edge it is the same at every cycle.
fn hazards(
    by: By,
    group: &Group,
    (fit, cycles): (&BetaGeometric, usize),
    thin: Option<Flag>,
    table: &mut Table,
) {
    for cycle in (1..).take(cycles) {
        let own = Own { cycle: Some(cycle), bracket: Some(Bracket::Censored), ..Own::default() };
        let (quantity, hazard) = (Quantity::FittedHazard, fit.hazard(cycle));
        let row = Row::figure(by, group.clone(), quantity, hazard, "beta-geometric", own);
        table.rows.push(Row { n: fit.mean.n, ..row }.flagged(thin));
    }
}
