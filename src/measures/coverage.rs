//! 5.3, Q3: which matings were made with both ends inspected and passing.
//!
//! Shares of the five classes. Matings of one site and week are alike (the same people, work and
//! haste), so intervals rest on site-weeks, or on longer blocks where the luck of skipping lasts longer: exact on the
//! effective sample (Korn & Graubard 1998). A row of one week has sites for clusters.

use crate::by;
use crate::derive::counts::{
    Counted, Coverage, Family, MatingClusters, MatingWeeks, MonthNo, Site, SiteMonths, Stage,
    WeekNo, mating_clusters, mating_weeks,
};
use crate::derive::{ByColumns, Clusters, DeriveError, Rows};
use crate::measures::evidence::{Evidence, names_apart};
use crate::measures::fault_rates::Block;
use crate::measures::flag::Flag;
use crate::measures::results::{Group, results, words};
use crate::measures::shared_luck::{block, blocks, of_matings};
use crate::stats::clustered::resembling_share;
use crate::stats::{ClusterSums, Lasting, Rests};

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
        /// Design effect of site-weeks, of longer blocks where luck lasts longer (of sites, in a row of one week), never
        /// below 1.
        deff: Option<f64> [Ratio],
        /// How long a block of a site is that the interval rests on: as long as the luck of skipping lasts. Empty in a row
        /// of one week.
        block: Option<Block>,
        /// Blocks (sites, in a row of one week) that the interval rests on; where a row has few, those of all sites.
        clusters: Option<u64> [Count],
        /// Share of the matings whose names stand apart from those of looks: of unknown coverage. Empty for none.
        apart: Option<f64> [Share],
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

/// Units and events among counted matings.
type Units = dyn Fn(&mating_weeks::Row) -> (i64, i64);

/// A share: what it is of, and its units and events among counted matings.
struct Share {
    quantity: Quantity,
    base: Base,
    of: Box<Units>,
}

impl Quantity {
    /// The share of matings of a class.
    pub fn of_class(class: Coverage) -> Quantity {
        match class {
            Coverage::Both => Quantity::Both,
            Coverage::One => Quantity::One,
            Coverage::None => Quantity::None,
            Coverage::DespiteFail => Quantity::DespiteFail,
            Coverage::Unknown | Coverage::Apart => Quantity::Unknown,
        }
    }
}

/// The table of coverage.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn coverage(evidence: &Evidence) -> Result<Table, DeriveError> {
    let mut table = Table::default();
    let (lasting, reviewed) = (of_matings(evidence), evidence.reviewed());
    for (by, columns) in [
        (By::Fleet, by!()),
        (By::Stage, by!(Stage)),
        (By::Family, by!(Family)),
        (By::Site, by!(Site)),
    ] {
        let found = blocks::<MatingClusters>(evidence, &reviewed, &columns, lasting.span)?;
        let covered = mating_clusters::Row::covered;
        grouped(evidence, (by, &columns), (&found, Some(lasting)), covered, &mut table);
    }
    // Weeks show the trend behind the period.
    let columns = by!(WeekNo);
    let found = evidence.clusters::<MatingWeeks>(&Rows::all(), &columns, &by!(Site))?;
    grouped(evidence, (By::Week, &columns), (&found, None), |row| *row, &mut table);
    reseats(evidence, &mut table)?;
    silent_months(evidence, &mut table)?;
    Ok(table)
}

/// Every class among all matings, all but `unknown` among those known, and the share skipped.
fn shares() -> Vec<Share> {
    let all = Coverage::shown().map(|class| Share {
        quantity: Quantity::of_class(class),
        base: Base::All,
        of: Box::new(move |row| (row.matings, row.of_class(class))),
    });
    let known = Coverage::known().map(|class| Share {
        quantity: Quantity::of_class(class),
        base: Base::Known,
        of: Box::new(move |row| (row.known, row.of_class(class))),
    });
    let skipped = Share {
        quantity: Quantity::Skipped,
        base: Base::Known,
        of: Box::new(|row| (row.known, row.skipped)),
    };
    all.chain(known).chain([skipped]).collect()
}

/// The shares of every group, whose clusters count matings as `covered` says and are as long as luck lasts, or are sites.
fn grouped<T: Counted>(
    evidence: &Evidence,
    (by, columns): (By, &ByColumns<T>),
    (groups, lasting): (&[Clusters<T>], Option<Lasting>),
    covered: fn(&T::Row) -> mating_weeks::Row,
    table: &mut Table,
) {
    let shares = shares();
    for found in groups {
        let left_out = found.sums(|row| (covered(row).matings, covered(row).apart));
        let apart = (left_out.events > 0).then(|| left_out.events as f64 / left_out.n as f64);
        for share in &shares {
            let sums = found.sums(|row| (share.of)(&covered(row)));
            let group = Group::of(&columns.columns(), &found.words);
            let row = row(evidence, by, group, (share.quantity, share.base), (&sums, lasting));
            let own = Own { apart, ..row.own };
            table.rows.push(Row { own, ..row }.flagged(names_apart(apart)));
        }
    }
}

fn row(
    evidence: &Evidence,
    by: By,
    group: Group,
    (quantity, base): (Quantity, Base),
    (sums, lasting): (&ClusterSums, Option<Lasting>),
) -> Row {
    let rules = evidence.rules();
    let rests = lasting.map_or_else(|| Rests::of(sums), |lasting| lasting.rests_of(sums));
    let Rests { resemblance, clusters } = rests;
    let own = Own {
        base: Some(base),
        deff: Some(resemblance.deff.max(1.0)),
        block: lasting.and_then(|lasting| block(lasting.span)),
        clusters: Some(clusters),
        apart: None,
    };
    let share = resembling_share((sums.events, sums.n), clusters, resemblance, rules.level);
    Row::of(by, group, quantity, &share, own)
        .flagged((sums.n < rules.least_count.into()).then_some(Flag::Thin))
        .flagged((clusters < rules.few_clusters.into()).then_some(Flag::FewClusters))
        .flagged(lasting.is_some_and(|lasting| lasting.narrow).then_some(Flag::Narrow))
}

/// Matings undone and made again, by class.
fn reseats(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    let lasting = of_matings(evidence);
    let reviewed = evidence.reviewed::<MatingClusters>();
    for found in blocks(evidence, &reviewed, &by!(), lasting.span)? {
        for class in Coverage::shown() {
            let sums = found.sums(|row| (row.of_class(class), row.reseats_of(class)));
            if sums.n > 0 {
                let of = (Quantity::Reseat, Base::All);
                let group = Group { coverage: Some(class.word().to_owned()), ..Group::default() };
                table.rows.push(row(evidence, By::Coverage, group, of, (&sums, Some(lasting))));
            }
        }
    }
    Ok(())
}

/// Months without a look in which a site cleaned, or mated more than a handful.
fn silent_months(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    let columns = by!(MonthNo, Site);
    for found in evidence.groups::<SiteMonths>(&Rows::all(), &columns)? {
        let rows = found.counts;
        let many = rows.matings > evidence.rules().silent_matings.into();
        if rows.looks == 0 && (rows.cleanings > 0 || many) {
            let group = Group::of(&columns.columns(), &found.words);
            let (quantity, own) = (Quantity::SilentMonth, Own::default());
            let row = Row::count(By::SiteMonth, group, quantity, rows.matings, own);
            table.rows.push(Row { events: Some(rows.cleanings), ..row });
        }
    }
    Ok(())
}
