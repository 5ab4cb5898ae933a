//! 5.5, Q5: what skipped inspections cost, and where most.
//!
//! Exposed: matings with one or no end seen; reference: both. At each first fault the matings of its stratum (site,
//! stage, family, quarter, criteria and after-fault state) that were at risk at that time since mating are compared:
//! risk sets, since time that is cut at the fault depends on it. Overall: the conditional likelihood of the risk sets
//! (Cox, ties by Efron) with errors by cluster; Mantel-Haenszel over the same risk sets stands next to it. Per cell:
//! the same conditional likelihood with log ratios drawn from a prior of two parts that is integrated over.
//! Money: bootstrap over clusters: site-weeks, or longer blocks where luck lasts longer. Figures say 'associated with'.

pub(in crate::measures) mod books;
mod control;
mod declared;
pub(in crate::measures) mod draws;
mod groups;
mod late_tickets;
pub(in crate::measures) mod look_price;
mod money;
mod opinions;
pub(in crate::measures) mod places;
pub(in crate::measures) mod rank;
pub(in crate::measures) mod ratio;
mod risk_sets;
mod sensitivity;
mod since_mating;
pub(in crate::measures) mod site_weeks;
pub(in crate::measures) mod strata;
pub(in crate::measures) mod years;

use crate::derive::DeriveError;
use crate::measures::fault_rates::Block;
use crate::measures::results::{Group, Money};
use books::{Books, Cells};
pub use declared::*;
use groups::groups;
use money::{cell_savings, fleet_money};
use ratio::ratio_rows;
use site_weeks::SiteWeeks;

/// The table of skipped cost.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn skipped_cost(books: &Books) -> Result<Table, DeriveError> {
    let mut table = Table::default();
    let evidence = books.evidence;
    for by in By::PLACES {
        let follow_up = (&books.follow_up, &books.site_weeks);
        ratio_rows(evidence, follow_up, by, &groups(evidence, by)?, &mut table);
    }
    table.rows.push(resampled(&books.site_weeks));
    fleet_money(books, &mut table);
    let by_stage_family = Cells::of(books, By::StageFamily, groups(evidence, By::StageFamily)?);
    for (by, cells) in
        [(By::StageFamily, &by_stage_family), (By::SiteStage, books.by_site_stage()?)]
    {
        cell_savings(books, by, cells, &mut table);
        difference(by, &mut table);
    }
    self::sensitivity::sensitivity(books, &mut table)?;
    self::since_mating::since_mating(evidence, &mut table)?;
    Ok(table)
}

/// Why the cells of a grouping do not add up to the fleet's figure.
const NOT_IN_CELLS: &str =
    "the fleet's figure has one ratio for all, each cell its own, drawn towards the common one";

/// What the cells of a grouping, flagged ones too, do not add up to: a row with its reason.
fn difference(by: By, table: &mut Table) {
    let minor = |money: Option<Money>| money.map_or(0, |Money(minor)| minor);
    let parts = |row: &Row| (minor(row.own.attributable), minor(row.own.look_cost));
    let is_headline =
        |row: &&Row| row.own.exposure == Some(Exposure::Skipped) && row.estimate.is_some();
    let fleet = table.rows_of(By::Fleet, Quantity::NetSaving).find(is_headline).map(parts);
    let Some((attributable, looks)) = fleet else { return };
    let less = |(attributable, looks): (i64, i64), row: &Row| {
        let (more, spent) = parts(row);
        (attributable.saturating_sub(more), looks.saturating_sub(spent))
    };
    let cells = table.rows_of(by, Quantity::NetSaving);
    let (attributable, looks) = cells.fold((attributable, looks), less);
    let own = Own {
        exposure: Some(Exposure::Skipped),
        cells: Some(by.word().to_owned()),
        attributable: Some(Money(attributable)),
        look_cost: Some(Money(looks)),
        reason: Some(NOT_IN_CELLS.to_owned()),
        ..Own::default()
    };
    let (group, value) = (Group::default(), attributable.saturating_sub(looks) as f64);
    let row = Row::figure(By::Fleet, group, Quantity::NotInCells, value, "difference", own);
    table.rows.push(row);
}

/// How many clusters were resampled, and what a cluster is.
fn resampled(site_weeks: &SiteWeeks) -> Row {
    let clusters = site_weeks.clusters.len() as f64;
    let method = site_weeks.block.map_or("sites", Block::of_sites);
    let (group, own) = (Group::default(), Own::default());
    Row::figure(By::Fleet, group, Quantity::Clusters, clusters, method, own)
}
