//! 5.3, Q3: which matings were made with both ends inspected and passing.
//!
//! Shares of the five classes. Matings of one site and week are alike (the same people, work and
//! haste), so intervals rest on site-weeks: Wilson on the effective sample (Rao & Scott 1992). A
//! row of one week has sites for clusters.

use crate::derive::{Coverage, DeriveError, Only};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::results::{Group, results, words};
use crate::stats::{ClusterSums, effective_wilson};

results! {
    /// Which matings were made with both ends inspected and passing.
    table "coverage";

    /// What coverage is grouped by.
    pub enum By {
        Fleet = "fleet",
        Stage = "stage",
        Family = "family",
        Site = "site",
        Week = "week",
        Coverage = "coverage",
        SiteMonth = "site+month",
    }

    /// What coverage tells.
    pub enum Quantity {
        /// Share of matings made with both ends seen: looked at, and passing.
        Both = "both" [Share],
        /// Share of matings made with one end unseen.
        One = "one" [Share],
        /// Share of matings made with both ends unseen.
        None = "none" [Share],
        /// Share of matings made although the last look at an end failed.
        DespiteFail = "despite-fail" [Share],
        /// Share of matings of which it cannot be known whether an end was seen.
        Unknown = "unknown" [Share],
        /// Share of matings made with one or both ends unseen.
        Skipped = "skipped" [Share],
        /// Share of matings of a class that were undone and made again within a day.
        Reseat = "reseat" [Share],
        /// Matings of a month in which a site recorded no look though it cleaned or mated; events are cleanings.
        SilentMonth = "silent-month" [Count],
    }

    /// What coverage adds to its estimates.
    pub struct Own {
        /// What the share is taken of.
        base: Option<Base>,
        /// Design effect of site-weeks (of sites, in a row of one week), never below 1.
        deff: Option<f64> [Ratio],
        /// Site-weeks (sites, in a row of one week) that the interval rests on.
        clusters: Option<u64> [Count],
    }
}

words! {
    /// What a share of matings is taken of.
    pub enum Base {
        /// All matings; those of the row's class in a row of reseats.
        All = "all",
        /// Matings of which it is known whether their ends were seen.
        Known = "known",
    }
}

/// The groupings of the period, and the columns of the count tables that they stand for.
const GROUPINGS: [(By, &[&str]); 4] =
    [(By::Fleet, &[]), (By::Stage, &["stage"]), (By::Family, &["family"]), (By::Site, &["site"])];
/// A cluster.
const WITHIN: &[&str] = &["site", "week"];

/// A share: what it is of, and the columns that are counted and counted among.
struct Share {
    quantity: Quantity,
    events: &'static str,
    of: &'static str,
    base: Base,
}

impl Quantity {
    /// The share of matings of a class.
    pub fn of_class(class: Coverage) -> Quantity {
        match class {
            Coverage::Both => Quantity::Both,
            Coverage::One => Quantity::One,
            Coverage::None => Quantity::None,
            Coverage::DespiteFail => Quantity::DespiteFail,
            Coverage::Unknown => Quantity::Unknown,
        }
    }
}

/// The table of coverage.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn coverage(evidence: &Evidence) -> Result<Table, DeriveError> {
    let mut table = Table::default();
    for (by, columns) in GROUPINGS {
        let clusters = ("mating_clusters", &evidence.period());
        grouped(evidence, clusters, by, columns, &mut table)?;
    }
    // Weeks show the trend behind the period.
    grouped(evidence, ("mating_weeks", &Only::all()), By::Week, &["week"], &mut table)?;
    reseats(evidence, &mut table)?;
    silent_months(evidence, &mut table)?;
    Ok(table)
}

/// Every class among all matings, all but `unknown` among those known, and the share skipped.
fn shares() -> Vec<Share> {
    let share = |quantity: Quantity, of, base| {
        // The count tables name their columns by the same words.
        Share { quantity, events: quantity.word(), of, base }
    };
    let classes = || Coverage::ALL.into_iter().map(Quantity::of_class);
    let all = classes().map(|class| share(class, "matings", Base::All));
    let known = classes().filter(|class| *class != Quantity::Unknown).chain([Quantity::Skipped]);
    all.chain(known.map(|class| share(class, "known", Base::Known))).collect()
}

/// The classes of every group, from a table of clusters.
fn grouped(
    evidence: &Evidence,
    clusters: (&'static str, &Only),
    by: By,
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

fn row(evidence: &Evidence, by: By, group: Group, share: &Share, sums: &ClusterSums) -> Row {
    let rules = evidence.rules();
    let own = Own {
        base: Some(share.base),
        deff: Some(crate::stats::design_effect(sums).deff.max(1.0)),
        clusters: Some(sums.clusters),
    };
    Row::of(by, group, share.quantity, &effective_wilson(sums, rules.level), own)
        .flagged((sums.n < rules.least_count.into()).then_some(Flag::Thin))
        .flagged((sums.clusters < rules.few_clusters.into()).then_some(Flag::FewClusters))
}

/// Matings undone and made again, by class.
fn reseats(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    for class in Coverage::ALL {
        let events = match class {
            Coverage::Both => "reseats-both",
            Coverage::One => "reseats-one",
            Coverage::None => "reseats-none",
            Coverage::DespiteFail => "reseats-despite-fail",
            Coverage::Unknown => "reseats-unknown",
        };
        let class = Quantity::of_class(class).word();
        let share = Share { quantity: Quantity::Reseat, events, of: class, base: Base::All };
        let clusters = ("mating_clusters", &evidence.period());
        for (_, _, sums) in cluster_sums(evidence, clusters, &[], &share)? {
            if sums.n > 0 {
                let group = Group { coverage: Some(class.to_owned()), ..Group::default() };
                table.rows.push(row(evidence, By::Coverage, group, &share, &sums));
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
            let own = Own::default();
            let mut row = Row::count(By::SiteMonth, group, Quantity::SilentMonth, matings, own);
            row.events = Some(cleanings);
            table.rows.push(row);
        }
    }
    Ok(())
}
