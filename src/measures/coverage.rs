//! 5.3, Q3: which matings were made with both ends inspected and passing.
//!
//! Shares of the five classes. Matings of one site and week are alike (the same people, work and
//! haste), so intervals rest on site-weeks: Wilson on the effective sample (Rao & Scott 1992). A
//! row of one week has sites for clusters.

use crate::derive::{Coverage, DeriveError, Only};
use crate::measures::evidence::{Evidence, Grouping};
use crate::measures::flag::Flag;
use crate::measures::table::{Group, Row, Table, Unit, Value};
use crate::stats::{ClusterSums, effective_wilson};

const OWN: &[&str] = &["base", "deff", "clusters"];
const GROUPINGS: &[Grouping] =
    &[("fleet", &[]), ("stage", &["stage"]), ("family", &["family"]), ("site", &["site"])];
/// A cluster.
const WITHIN: &[&str] = &["site", "week"];

/// A share: what it is called, and the columns that are counted and counted among.
struct Share {
    quantity: &'static str,
    events: &'static str,
    of: &'static str,
    base: &'static str,
}

/// The table of coverage.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn coverage(evidence: &Evidence) -> Result<Table, DeriveError> {
    let mut table = Table::empty("coverage", OWN);
    for (by, columns) in GROUPINGS {
        let clusters = ("mating_clusters", &evidence.period());
        grouped(evidence, clusters, by, columns, &mut table)?;
    }
    // Weeks show the trend behind the period.
    grouped(evidence, ("mating_weeks", &Only::all()), "week", &["week"], &mut table)?;
    reseats(evidence, &mut table)?;
    silent_months(evidence, &mut table)?;
    Ok(table)
}

/// Every class among all matings, all but `unknown` among those known, and the share skipped.
fn shares() -> Vec<Share> {
    let class = |class: &'static str, of, base| Share { quantity: class, events: class, of, base };
    let all = Coverage::WORDS.into_iter().map(|word| class(word, "matings", "all"));
    let known = Coverage::WORDS.into_iter().filter(|word| *word != "unknown");
    let known = known.map(|word| class(word, "known", "known"));
    all.chain(known).chain([class("skipped", "known", "known")]).collect()
}

/// The classes of every group, from a table of clusters.
fn grouped(
    evidence: &Evidence,
    clusters: (&'static str, &Only),
    by: &'static str,
    columns: &[&'static str],
    table: &mut Table,
) -> Result<(), DeriveError> {
    let mut rows: Vec<(Vec<u32>, usize, Row)> = Vec::new();
    for (place, share) in shares().iter().enumerate() {
        for (group, places, sums) in cluster_sums(evidence, clusters, columns, share)? {
            rows.push((places, place, row(evidence, by, group, share, &sums)));
        }
    }
    rows.sort_by(|a, b| (&a.0, a.1).cmp(&(&b.0, b.1)));
    table.rows.extend(rows.into_iter().map(|(_, _, row)| row));
    Ok(())
}

/// Sums over the site-weeks of every group, with its places in the order of display.
fn cluster_sums(
    evidence: &Evidence,
    (clusters, only): (&'static str, &Only),
    columns: &[&'static str],
    share: &Share,
) -> Result<Vec<(Group, Vec<u32>, ClusterSums)>, DeriveError> {
    let frame = evidence.frame(clusters)?;
    let cells = frame.cluster_sums(only, columns, WITHIN, [share.of, share.events])?;
    let sums = cells.into_iter().map(|cell| {
        let group = Group::of(columns, &cell.group);
        (group, cell.places.clone(), crate::measures::evidence::cluster_sums(&cell))
    });
    Ok(sums.collect())
}

fn row(
    evidence: &Evidence,
    by: &'static str,
    group: Group,
    share: &Share,
    sums: &ClusterSums,
) -> Row {
    let rules = evidence.rules();
    let estimate = effective_wilson(sums, rules.level);
    let deff = crate::stats::design_effect(sums).deff.max(1.0);
    Row::of(by, group, share.quantity, Unit::Share, &estimate)
        .with(vec![
            Value::Text(share.base.to_owned()),
            Value::Number(deff),
            Value::Count(sums.clusters as i64),
        ])
        .flagged((sums.n < rules.least_count.into()).then_some(Flag::Thin))
        .flagged((sums.clusters < rules.few_clusters.into()).then_some(Flag::FewClusters))
}

/// Matings undone and made again, by class.
fn reseats(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    let columns = [
        ("both", "reseats-both"),
        ("one", "reseats-one"),
        ("none", "reseats-none"),
        ("despite-fail", "reseats-despite-fail"),
        ("unknown", "reseats-unknown"),
    ];
    for (class, events) in columns {
        let share = Share { quantity: "reseat", events, of: class, base: "all" };
        let clusters = ("mating_clusters", &evidence.period());
        for (_, _, sums) in cluster_sums(evidence, clusters, &[], &share)? {
            if sums.n > 0 {
                let group = Group::of(&["coverage"], &[class.to_owned()]);
                table.rows.push(row(evidence, "coverage", group, &share, &sums));
            }
        }
    }
    Ok(())
}

/// Months without a look in which a site cleaned, or mated more than a handful.
fn silent_months(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    let sums = ["looks", "cleanings", "matings"];
    let months = evidence.frame("site_months")?;
    for cell in months.cells(&Only::all(), &["month", "site"], &sums)? {
        let [looks, cleanings, matings] = std::array::from_fn(|at| cell.sums[at]);
        if looks == 0 && (cleanings > 0 || matings > evidence.rules().silent_matings.into()) {
            let group = Group::of(&["month", "site"], &cell.group);
            let mut row = Row::figure(
                "site+month",
                group,
                "silent-month",
                Unit::Count,
                matings as f64,
                "count",
            );
            (row.n, row.events) = (matings as f64, Some(cleanings));
            table.rows.push(row.with(vec![Value::Missing; OWN.len()]));
        }
    }
    Ok(())
}
