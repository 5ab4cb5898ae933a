//! 5.3, Q3: which matings were made with both ends inspected and passing.
//!
//! Shares of the five classes. Matings of one site and week are alike (the same people, work and
//! haste), so intervals rest on site-weeks: Wilson on the effective sample (Rao & Scott 1992). A
//! row of one week has sites for clusters.

use crate::by;
use crate::derive::counts::{
    Counted, Coverage, MatingClusters, MatingWeeks, MonthNo, Site, SiteMonths, WeekNo,
    mating_clusters, mating_weeks,
};
use crate::derive::{By, Clusters, DeriveError, Rows};
use crate::measures::evidence::{Evidence, places};
use crate::measures::flag::Flag;
use crate::measures::table::{Group, Row, Table, Unit, Value};
use crate::stats::{ClusterSums, effective_wilson};

const OWN: &[&str] = &["base", "deff", "clusters"];

/// Units and events among counted matings.
type Units = dyn Fn(&mating_weeks::Row) -> (i64, i64);

/// A share: what it is called, what it is a share of, and its units and events among counted matings.
struct Share {
    quantity: &'static str,
    base: &'static str,
    of: Box<Units>,
}

/// The table of coverage.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn coverage(evidence: &Evidence) -> Result<Table, DeriveError> {
    let mut table = Table::empty("coverage", OWN);
    for (name, by) in places::<MatingClusters>() {
        let within = by!(Site, WeekNo);
        let found = evidence.clusters(&evidence.reviewed(), &by, &within)?;
        grouped(evidence, (name, &by), &found, mating_clusters::Row::covered, &mut table);
    }
    // Weeks show the trend behind the period.
    let by = by!(WeekNo);
    let found = evidence.clusters::<MatingWeeks>(&Rows::all(), &by, &by!(Site))?;
    grouped(evidence, ("week", &by), &found, |row| *row, &mut table);
    reseats(evidence, &mut table)?;
    silent_months(evidence, &mut table)?;
    Ok(table)
}

/// Every class among all matings, all but `unknown` among those known, and the share skipped.
fn shares() -> Vec<Share> {
    let all = Coverage::ALL.iter().map(|class| Share {
        quantity: class.word(),
        base: "all",
        of: Box::new(|row| (row.matings, row.of_class(*class))),
    });
    let known = Coverage::ALL.iter().filter(|class| **class != Coverage::Unknown);
    let known = known.map(|class| Share {
        quantity: class.word(),
        base: "known",
        of: Box::new(|row| (row.known, row.of_class(*class))),
    });
    let skipped =
        Share { quantity: "skipped", base: "known", of: Box::new(|row| (row.known, row.skipped)) };
    all.chain(known).chain([skipped]).collect()
}

/// The shares of every group, whose clusters count matings as `covered` says.
fn grouped<T: Counted>(
    evidence: &Evidence,
    (name, by): (&'static str, &By<T>),
    groups: &[Clusters<T>],
    covered: fn(&T::Row) -> mating_weeks::Row,
    table: &mut Table,
) {
    let shares = shares();
    for found in groups {
        for share in &shares {
            let sums = found.sums(|row| (share.of)(&covered(row)));
            let group = Group::of(&by.columns(), &found.words);
            table.rows.push(row(evidence, name, group, (share.quantity, share.base), &sums));
        }
    }
}

fn row(
    evidence: &Evidence,
    by: &'static str,
    group: Group,
    (quantity, base): (&'static str, &'static str),
    sums: &ClusterSums,
) -> Row {
    let rules = evidence.rules();
    let estimate = effective_wilson(sums, rules.level);
    let deff = crate::stats::design_effect(sums).deff.max(1.0);
    Row::of(by, group, quantity, Unit::Share, &estimate)
        .with(vec![
            Value::Text(base.to_owned()),
            Value::Number(deff),
            Value::Count(sums.clusters as i64),
        ])
        .flagged((sums.n < rules.least_count.into()).then_some(Flag::Thin))
        .flagged((sums.clusters < rules.few_clusters.into()).then_some(Flag::FewClusters))
}

/// Matings undone and made again, by class.
fn reseats(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    let within = by!(Site, WeekNo);
    for found in evidence.clusters::<MatingClusters>(&evidence.reviewed(), &by!(), &within)? {
        for class in Coverage::ALL {
            let sums = found.sums(|row| (row.of_class(*class), row.reseats_of(*class)));
            if sums.n > 0 {
                let group = Group { coverage: Some(class.word().to_owned()), ..Group::default() };
                table.rows.push(row(evidence, "coverage", group, ("reseat", "all"), &sums));
            }
        }
    }
    Ok(())
}

/// Months without a look in which a site cleaned, or mated more than a handful.
fn silent_months(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    let by = by!(MonthNo, Site);
    for found in evidence.groups::<SiteMonths>(&Rows::all(), &by)? {
        let rows = found.counts;
        let many = rows.matings > evidence.rules().silent_matings.into();
        if rows.looks == 0 && (rows.cleanings > 0 || many) {
            let group = Group::of(&by.columns(), &found.words);
            let mut row = Row::figure(
                "site+month",
                group,
                "silent-month",
                Unit::Count,
                rows.matings as f64,
                "count",
            );
            (row.n, row.events) = (rows.matings as f64, Some(rows.cleanings));
            table.rows.push(row.with(vec![Value::Missing; OWN.len()]));
        }
    }
    Ok(())
}
