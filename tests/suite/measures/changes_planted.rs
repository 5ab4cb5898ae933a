//! 5.9 on other counts than the demo's: changes planted, sites under other numbers, cells that are gone,
//! tables split and merged.

use motetrail::derive::Counts;
use motetrail::derive::counts::{QuarterNo, Site, Stage, VisitRow, mating_clusters};
use motetrail::measures::changes::{Against, By, Quantity, Row};
use motetrail::measures::results::Group;
use motetrail::measures::{Flag, Review, first_pass};

use super::changed::{recounted, reviewed, with};
use super::changes::{quarters, rows};
use crate::printed;
use crate::review::demo::demo;

/// What is listed beyond skipped looks, where the demo has a change of its own: an action of three sites.
fn listed(review: &Review) -> Vec<&Row> {
    let rows = review.changes.rows.iter();
    rows.filter(|row| row.own.q.is_some_and(|q| q <= 0.05))
        .filter(|row| row.quantity != Quantity::Skipped)
        .collect()
}

/// Every third clean first look at one stage fails this quarter.
#[test]
fn a_planted_fall_of_first_pass_is_found_where_it_is() {
    let own = &demo().derived.counts;
    let (stage, [period, _]) = ("depot-stores", quarters());
    let code = Stage(demo().derived.glossary.stage.0.find(stage).unwrap());
    let fallen = |clean: i64| clean - clean / 3;
    let visits = recounted(&own.first_pass.visits, |cell, mut counts| {
        if cell.quarter == period && cell.stage == code && cell.row == VisitRow::Routine {
            counts.clean = fallen(counts.clean);
        }
        (cell, counts)
    });
    // Work orders are small: a third of them, by their number, fails whole.
    let work_orders = recounted(&own.first_pass.work_orders, |cell, mut counts| {
        let number = cell.cluster_high.0 ^ cell.cluster_low.0;
        if cell.quarter == period && cell.stage == code && number.is_multiple_of(3) {
            counts.clean = 0;
        }
        (cell, counts)
    });
    let review =
        reviewed(with!(own, first_pass.visits = visits, first_pass.work_orders = work_orders));
    let found = listed(&review);
    assert!(
        found.iter().any(|row| row.by == By::Stage && row.group.stage.as_deref() == Some(stage))
    );
    for row in found {
        assert_eq!(row.quantity, Quantity::FirstPass, "{row:?}");
        assert!(row.estimate.unwrap() < 0.0 && row.high.unwrap() < 0.0, "{row:?}");
        assert!(row.group.stage.as_deref().is_none_or(|at| at == stage), "{row:?}");
    }
}

/// Eight times the faults at one site. They come in lumps of eight then, which the scatter takes for luck that events share: so many
/// are needed.
#[test]
fn a_planted_rise_of_faults_is_found_where_it_is() {
    let own = &demo().derived.counts;
    let [period, _] = quarters();
    let cells = own.rates.in_force.cells();
    let of_site = |site: Site| -> i64 {
        cells
            .iter()
            .filter(|(cell, _)| cell.quarter == period && cell.site == site)
            .map(|(_, row)| row.linked)
            .sum()
    };
    let sites = (0..demo().review.sites.len() as u32 + 1).map(Site);
    let site = sites.max_by_key(|site| of_site(*site)).unwrap();
    let in_force = recounted(&own.rates.in_force, |cell, mut counts| {
        if cell.quarter == period && cell.site == site {
            counts.linked *= 8;
        }
        (cell, counts)
    });
    let force_weeks = recounted(&own.rates.force_weeks, |cell, mut counts| {
        if cell.quarter == period && cell.site == site {
            counts.linked *= 8;
        }
        (cell, counts)
    });
    let review = reviewed(with!(own, rates.in_force = in_force, rates.force_weeks = force_weeks));
    let name = demo().derived.glossary.site.0.word(site.0);
    let found = listed(&review);
    let at_site = |row: &&&Row| row.by == By::Site && row.group.site.as_deref() == Some(name);
    let row = found.iter().find(at_site).expect("the site is found");
    assert!(row.low.unwrap() > 1.0 && row.low.unwrap() < 8.0, "{row:?}");
    assert!(found.iter().all(|row| row.quantity == Quantity::FaultRate));
    assert!(found.iter().all(|row| row.group.site.as_deref().is_none_or(|site| site == name)));
}

/// Sites under other numbers are the same clusters and the same rows.
#[test]
fn numbering_sites_otherwise_changes_nothing() {
    let own = &demo().derived.counts;
    let cells = own.first_pass.visits.cells();
    let sites = cells.iter().map(|(cell, _)| cell.site.0).max().unwrap() + 1;
    macro_rules! turned {
        ($table:expr) => {
            recounted(&$table, |mut cell, counts| {
                cell.site.0 = sites - 1 - cell.site.0.min(sites - 1);
                (cell, counts)
            })
        };
    }
    let review = reviewed(with!(
        own,
        first_pass.visits = turned!(own.first_pass.visits),
        first_pass.work_orders = turned!(own.first_pass.work_orders),
        cleaning.cycle_trials = turned!(own.cleaning.cycle_trials),
        coverage.mating_clusters = turned!(own.coverage.mating_clusters),
        rates.in_force = turned!(own.rates.in_force),
        rates.force_weeks = turned!(own.rates.force_weeks),
    ));
    let mut compared = 0;
    for against in Against::ALL {
        for quantity in Quantity::ALL {
            for by in [By::Fleet, By::Stage, By::StageFamily] {
                let before = rows(&demo().review, *against, by, *quantity);
                let after = rows(&review, *against, by, *quantity);
                assert_eq!(before.len(), after.len());
                for (one, other) in before.iter().zip(after) {
                    compared += 1;
                    assert_eq!((one.estimate, &one.flags), (other.estimate, &other.flags));
                    let ends = [(one.low, other.low), (one.high, other.high)];
                    assert!(ends.iter().all(|(a, b)| match (a, b) {
                        (Some(a), Some(b)) => (a - b).abs() <= 1e-9 * (1.0 + a.abs()),
                        (a, b) => a == b,
                    }));
                }
            }
        }
    }
    assert!(compared > 150, "{compared}");
}

/// A site that is new has nothing to be compared with: its row is there, and in no list.
#[test]
fn a_cell_of_one_quarter_alone_is_shown_without_a_change() {
    let own = &demo().derived.counts;
    let [period, _] = quarters();
    let site = own.coverage.mating_clusters.cells()[0].0.site;
    let mating_clusters = recounted(&own.coverage.mating_clusters, |cell, counts| {
        let gone = cell.quarter != period && cell.site == site;
        (cell, if gone { mating_clusters::Row::default() } else { counts })
    });
    let review = reviewed(with!(own, coverage.mating_clusters = mating_clusters));
    let name = demo().derived.glossary.site.0.word(site.0);
    for against in Against::ALL {
        let rows = rows(&review, *against, By::Site, Quantity::Skipped);
        let row = rows.iter().find(|row| row.group.site.as_deref() == Some(name)).unwrap();
        assert!(row.n > 0.0 && row.estimate.is_none() && row.flags.contains(&Flag::Thin));
        assert_eq!((row.own.q, row.own.n_before), (None, 0.0));
    }
}

/// Half of the cells in one table and half in another, added again.
#[test]
fn split_and_merged_counts_give_the_same_rows() {
    let own = &demo().derived.counts;
    let half = |odd: bool| {
        let mut half = Counts::empty(0);
        macro_rules! share {
            ($($table:ident).+) => {
                for (place, (cell, counts)) in own.$($table).+.cells().into_iter().enumerate() {
                    if (place % 2 == 1) == odd {
                        half.$($table).+.add(Some(cell), counts);
                    }
                }
            };
        }
        share!(first_pass.visits);
        share!(first_pass.suppliers);
        share!(first_pass.work_orders);
        share!(cleaning.cycle_trials);
        share!(coverage.mating_clusters);
        share!(rates.in_force);
        share!(rates.force_weeks);
        half
    };
    for merged in [half(false).merge(half(true)), half(true).merge(half(false))] {
        assert_eq!(&reviewed(merged).changes, &demo().review.changes);
    }
}

/// What a row is of, its units and events, and its share.
type Told = (Group, f64, Option<i64>, Option<f64>);

/// What is kept of other quarters serves changes, and says how long the luck of looks and matings lasts: without it the
/// other tables are the same, and those of looks and matings in all that is counted.
#[test]
fn clusters_of_other_quarters_change_no_count_of_another_table() {
    let (own, [period, _]) = (&demo().derived.counts, quarters());
    let look_back: Vec<QuarterNo> = {
        let derived = &demo().derived;
        let quarters = derived.period.look_back.iter();
        let pieces = quarters.filter_map(|quarter| derived.calendar.piece_of(*quarter));
        pieces.map(QuarterNo).collect()
    };
    let mut gone = 0;
    macro_rules! only {
        ($part:ident.$table:ident, $kept:expr) => {{
            let mut table = Counts::empty(0).$part.$table;
            for (cell, counts) in own.$part.$table.cells() {
                if $kept(cell.quarter) {
                    table.add(Some(cell), counts);
                } else {
                    gone += 1;
                }
            }
            table
        }};
    }
    let review = reviewed(with!(
        own,
        first_pass.work_orders = only!(first_pass.work_orders, |quarter| quarter == period),
        first_pass.site_days = only!(first_pass.site_days, |quarter| quarter == period),
        coverage.mating_clusters = only!(coverage.mating_clusters, |quarter| quarter == period),
        cleaning.cycle_trials =
            only!(cleaning.cycle_trials, |quarter| look_back.contains(&quarter)),
    ));
    assert!(gone > 1000, "{gone}");
    for table in ["cycles", "fault_rates", "skipped_cost"] {
        let columns = |review| printed::columns(printed::table(review, table));
        assert_eq!(columns(&review), columns(&demo().review), "{table}");
    }
    // Shares of other clusters are the same but for the last digit of a division.
    let same = |got: Vec<Told>, want: Vec<Told>| {
        assert_eq!(got.len(), want.len());
        for (got, want) in got.into_iter().zip(want) {
            assert_eq!((&got.0, got.1, got.2), (&want.0, want.1, want.2));
            let gap = got.3.zip(want.3).map(|(got, want)| (got - want).abs());
            assert!(got.3.is_some() == want.3.is_some() && gap.is_none_or(|gap| gap < 1e-12));
        }
    };
    let looks = |review: &Review| {
        let rows = review.first_pass.quantity(first_pass::Quantity::Clean);
        let told = rows.map(|row| (row.group.clone(), row.n, row.events, row.estimate));
        told.collect::<Vec<_>>()
    };
    same(looks(&review), looks(&demo().review));
    let matings = |review: &Review| {
        let rows = review.coverage.rows.iter();
        let told = rows.map(|row| (row.group.clone(), row.n, row.events, row.estimate));
        told.collect::<Vec<_>>()
    };
    same(matings(&review), matings(&demo().review));
    assert_ne!(&review.changes, &demo().review.changes);
}
