//! 5.1 by site: shares drawn towards the fleet's and ranked, and the funnel that tells which sites
//! differ from the fleet by more than sites do.
//!
//! Both work on effective sizes, looks and clean looks over the site's design effect, so that a site seen on few
//! work orders, or in a few weeks that share their luck, is not taken for one that is surely bad.

use super::declared::{By, Own, Quantity, Row, Signal, Table};
use crate::by;
use crate::derive::counts::{self, WorkOrders};
use crate::derive::{Clusters, DeriveError};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::results::Group;
use crate::measures::shared_luck::{block, look_clusters, of_looks};
use crate::stats::funnel::{Funnel, funnel};
use crate::stats::ranked::{Ranked, ranked};
use crate::stats::{ClusterSums, Warning};

/// Limits beyond which a site is named: one in five hundred sites that are like the others.
const NAMED: f64 = 0.998;
/// Limits drawn inside those.
const DRAWN: f64 = 0.95;
/// Fewest sites of which a spread between sites can be told.
const LEAST_SITES: usize = 3;
/// Sizes at which the limits are given, for the curves of the picture.
const SIZES: usize = 24;

/// One site's routine first looks.
struct Site {
    group: Group,
    sums: ClusterSums,
    ranked: Ranked,
}

/// Adds the ranked shares of sites, their places in the funnel, and its limits.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn site_ranking(
    evidence: &Evidence,
    table: &mut Table,
) -> Result<(), DeriveError> {
    let sites = sites(evidence)?;
    in_order(evidence, &sites, table);
    let effective = |site: &Site| (site.ranked.effective.events, site.ranked.effective.n);
    let units: Vec<(f64, f64)> = sites.iter().map(effective).collect();
    if let Some(funnel) = funnel(&units).filter(|_| sites.len() >= LEAST_SITES) {
        in_funnel(evidence, &sites, &funnel, table);
        limits(&sites, &funnel, table);
    }
    Ok(())
}

fn sites(evidence: &Evidence) -> Result<Vec<Site>, DeriveError> {
    let columns = by!(counts::Site);
    let found = look_clusters(evidence, &evidence.reviewed(), &columns)?;
    let looks = |of: &Clusters<WorkOrders>| of.sums(|row| (row.looks, row.clean));
    let sums: Vec<ClusterSums> = found.iter().map(looks).collect();
    let site = |((found, sums), ranked): ((&Clusters<WorkOrders>, &ClusterSums), Ranked)| Site {
        group: Group::of(&columns.columns(), &found.words),
        sums: *sums,
        ranked,
    };
    let ranked = ranked(&sums, &of_looks(evidence).rests(&sums), evidence.rules().level);
    Ok(found.iter().zip(&sums).zip(ranked).map(site).collect())
}

/// Shares drawn towards the fleet's, and ranks from the lowest, of sites that are firm.
fn in_order(evidence: &Evidence, sites: &[Site], table: &mut Table) {
    let (from, lasting) = (table.rows.len(), of_looks(evidence));
    for site in sites {
        let Ranked { share, standing, effective, rests } = &site.ranked;
        let own = Own {
            deff: Some(rests.resemblance.deff.max(1.0)),
            clusters: Some(rests.clusters),
            block: block(lasting.span),
            n_effective: Some(effective.n),
            expected_rank: standing.map(|standing| standing.expected_rank),
            probability: standing.map(|standing| standing.below_mean),
            ..Own::default()
        };
        let row = Row::of(By::Site, site.group.clone(), Quantity::SiteRanked, share, own);
        let edge = share.warnings.contains(&Warning::Boundary) || standing.is_none();
        let row = of_site(evidence, site, row).flagged(edge.then_some(Flag::NotIdentified));
        table.rows.push(row.flagged(lasting.narrow.then_some(Flag::Narrow)));
    }
    put_in_order(table, from);
}

/// The row with the site's looks and with flags for resting on few.
fn of_site(evidence: &Evidence, site: &Site, row: Row) -> Row {
    let rules = evidence.rules();
    let (n, events) = (site.sums.n as f64, Some(site.sums.events as i64));
    Row { n, events, ..row }
        .flagged((site.sums.n < rules.least_count.into()).then_some(Flag::Thin))
        .flagged(
            (site.ranked.rests.clusters < rules.few_clusters.into()).then_some(Flag::FewClusters),
        )
}

/// Ranks the firm rows from `from` on by their expected rank, and puts them first.
fn put_in_order(table: &mut Table, from: usize) {
    let number = |row: &Row| match row.own.expected_rank {
        Some(rank) if row.is_firm() => rank,
        _ => f64::INFINITY,
    };
    let rows = &mut table.rows[from..];
    rows.sort_by(|a, b| number(a).total_cmp(&number(b)));
    for (row, at) in rows.iter_mut().zip(1..) {
        if number(row).is_finite() {
            row.own.rank = Some(at);
        }
    }
}

/// Each site's own share on its effective size, between the limits there.
fn in_funnel(evidence: &Evidence, sites: &[Site], funnel: &Funnel, table: &mut Table) {
    for (at, site) in sites.iter().enumerate() {
        let Some(distance) = funnel.adjusted(at) else { continue };
        let effective = site.ranked.effective;
        let share = effective.events / effective.n;
        let limits = funnel.limits(effective.n, NAMED);
        let signal = match share {
            share if share < limits.low => Some(Signal::BelowLimits),
            share if share > limits.high => Some(Signal::AboveLimits),
            _ => None,
        };
        let own = Own {
            centre: Some(funnel.centre),
            n_effective: Some(effective.n),
            distance: Some(distance).filter(|distance| distance.is_finite()),
            signal,
            ..Own::default()
        };
        let method = "99.8 % funnel limits, over-dispersed";
        let row =
            Row::figure(By::Site, site.group.clone(), Quantity::SiteFunnel, share, method, own);
        let row = Row { low: Some(limits.low), high: Some(limits.high), ..row };
        table.rows.push(of_site(evidence, site, row));
    }
}

/// The limits over the sizes that sites have, and the over-dispersion in them.
fn limits(sites: &[Site], funnel: &Funnel, table: &mut Table) {
    let of_fleet = |quantity, value, method, own| {
        Row::figure(By::Fleet, Group::default(), quantity, value, method, own)
    };
    let method = "winsorised, consistent at the normal";
    let dispersion = of_fleet(Quantity::FunnelDispersion, funnel.phi, method, Own::default());
    table.rows.push(Row { n: sites.len() as f64, ..dispersion });
    let sizes = || sites.iter().map(|site| site.ranked.effective.n).filter(|looks| *looks > 0.0);
    let (least, most) = (sizes().fold(f64::MAX, f64::min), sizes().fold(0.0, f64::max));
    let levels = [(DRAWN, Quantity::FunnelInner), (NAMED, Quantity::FunnelOuter)];
    for (level, quantity) in levels {
        for step in 0..SIZES {
            let share = step as f64 / (SIZES - 1) as f64;
            // Even steps in the root: the limits bend most where sites are small.
            let size = (least.sqrt() + share * (most.sqrt() - least.sqrt())).powi(2);
            let limits = funnel.limits(size, level);
            let own = Own { n_effective: Some(size), ..Own::default() };
            let row = of_fleet(quantity, funnel.centre, "funnel limits, over-dispersed", own);
            let (low, high) = (Some(limits.low), Some(limits.high));
            table.rows.push(Row { n: size, low, high, ..row });
        }
    }
}
