//! 5.5, Q5: what skipped inspections cost, and where most.
//!
//! Exposed: matings with one or no end seen; reference: both. Overall ratio over strata of site,
//! stage, family, band, quarter, criteria and after-fault state: Mantel-Haenszel with the interval
//! of Greenland & Robins (1985), or, where site-weeks scatter more than chance, the Poisson
//! regression with cluster-robust errors; the other stands beside it. Per cell: conditional
//! binomials with log ratios drawn from a common normal whose mean and spread are integrated over.
//! Money: bootstrap over site-weeks. Figures say 'associated with'.

mod control;
pub(in crate::measures) mod draws;
pub(in crate::measures) mod look_price;
mod money;
mod opinions;
pub(in crate::measures) mod rank;
pub(in crate::measures) mod ratio;
mod sensitivity;
mod since_mating;
pub(in crate::measures) mod site_weeks;
pub(in crate::measures) mod strata;

use crate::derive::{Cell, DeriveError};
use crate::measures::evidence::{Evidence, Grouping};
use crate::measures::table::{Group, Row, Table, Unit};
use look_price::LookPrices;
use money::{Books, cell_savings, fleet_money};
use ratio::ratio_rows;
use site_weeks::SiteWeeks;
use strata::FollowUp;

const OWN: &[&str] = &[
    "exposure",
    "faults",
    "after_fault",
    "variant",
    "p",
    "ratio",
    "ratio_low",
    "ratio_high",
    "e_value",
    "e_value_limit",
    "dispersion",
    "clusters",
    "control_q",
    "faults_skipped",
    "faults_both",
    "matings_skipped",
    "fault_cost",
    "attributable",
    "attributable_low",
    "attributable_high",
    "look_cost",
    "net_saving",
    "running_share",
    "rank",
    "top_three",
    "day",
    "at_risk",
];
const RATIO_GROUPINGS: &[Grouping] = &[
    ("fleet", &[]),
    ("stage", &["stage"]),
    ("family", &["family"]),
    ("site", &["site"]),
    ("stage+family", &["stage", "family"]),
    ("site+stage", &["site", "stage"]),
];
const CELL_GROUPINGS: &[Grouping] =
    &[("stage+family", &["stage", "family"]), ("site+stage", &["site", "stage"])];

/// The table of skipped cost.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn skipped_cost(evidence: &Evidence) -> Result<Table, DeriveError> {
    let mut table = Table::empty("skipped_cost", OWN);
    let books = Books {
        evidence,
        follow_up: FollowUp::of(evidence)?,
        site_weeks: SiteWeeks::of(evidence),
        prices: LookPrices::of(evidence)?,
    };
    for (by, columns) in RATIO_GROUPINGS {
        let groups = groups(evidence, columns)?;
        let follow_up = (&books.follow_up, &books.site_weeks);
        ratio_rows(evidence, follow_up, (by, columns), &groups, &mut table);
    }
    table.rows.push(resampled(&books.site_weeks, &table));
    fleet_money(&books, &mut table);
    for grouping in CELL_GROUPINGS {
        cell_savings(&books, grouping, &groups(evidence, grouping.1)?, &mut table);
    }
    self::sensitivity::sensitivity(&books, &mut table)?;
    self::since_mating::since_mating(evidence, &mut table)?;
    Ok(table)
}

/// How many clusters were resampled, and what a cluster is.
fn resampled(site_weeks: &SiteWeeks, table: &Table) -> Row {
    let clusters = site_weeks.clusters.len() as f64;
    let method = if site_weeks.by_week { "site-weeks" } else { "sites" };
    let group = Group::default();
    Row::figure("fleet", group, "clusters", Unit::Count, clusters, method).with(table.fill(&[]))
}

/// The groups that have follow-up in the look-back, in the order of display.
fn groups(evidence: &Evidence, columns: &[&'static str]) -> Result<Vec<Group>, DeriveError> {
    let cells: Vec<Cell> =
        evidence.cells("follow_up", &evidence.look_back(), columns, &["started"])?;
    Ok(cells.iter().map(|cell| Group::of(columns, &cell.group)).collect())
}
