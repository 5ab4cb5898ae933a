//! Count tables without a count, with counts up to 10^12, with other labels, with empty cells, and
//! with what a regression cannot tell apart.

use motetrail::derive::Counts;
use motetrail::derive::counts::{CountTable, Counted, PassageCounts};
use motetrail::measures::coverage;
use motetrail::measures::cycles::{By, Quantity, Row};
use motetrail::measures::first_pass;
use motetrail::measures::{Flag, Review, Unit};

use super::changed::{add, changed, each_figure, reviewed, with};
use crate::printed;
use crate::review::demo::demo;

/// The table with every count this many times as large.
pub fn times<T: Counted>(table: &CountTable<T>, factor: i64) -> CountTable<T> {
    each_figure(table, |figure| figure * factor)
}

pub fn sound(review: &Review, table: &str) -> usize {
    let rows = printed::table(review, table).leading();
    for row in &rows {
        let numbers = [row.low, row.estimate, row.high];
        assert!(numbers.into_iter().flatten().all(f64::is_finite), "{table}: {row:?}");
        assert!(row.n.is_finite() && row.n >= 0.0, "{table}: {row:?}");
        if row.unit == Unit::Share {
            let inside = numbers.into_iter().flatten().all(|x| (0.0..=1.0).contains(&x));
            assert!(inside, "{table}: {row:?}");
        }
        if row.unit == Unit::Difference {
            let inside = numbers.into_iter().flatten().all(|x| (-1.0..=1.0).contains(&x));
            assert!(inside, "{table}: {row:?}");
        }
    }
    rows.len()
}

fn rows(review: &Review, by: By, quantity: Quantity) -> Vec<&Row> {
    review.cycles.rows_of(by, quantity).collect()
}

#[test]
fn tables_without_a_count_say_nothing_that_is_no_number() {
    let review = reviewed(Counts::empty(0));
    for table in ["first_pass", "cycles", "coverage", "entry", "changes"] {
        sound(&review, table);
    }
    let first_pass = &review.first_pass.rows;
    assert!(first_pass.iter().all(|row| row.by != first_pass::By::Site));
    assert!(rows(&review, By::Treatment, Quantity::OddsRatio).is_empty());
}

#[test]
fn tables_of_huge_counts_say_nothing_that_is_no_number() {
    let own = &demo().derived.counts;
    for factor in [1_000_000, 1_000_000_000_000] {
        let review = reviewed(with!(
            own,
            first_pass.visits = times(&own.first_pass.visits, factor),
            first_pass.suppliers = times(&own.first_pass.suppliers, factor),
            first_pass.work_orders = times(&own.first_pass.work_orders, factor),
            first_pass.first_looks = times(&own.first_pass.first_looks, factor),
            cleaning.cycles = times(&own.cleaning.cycles, factor),
            cleaning.cycle_trials = times(&own.cleaning.cycle_trials, factor),
            cleaning.cleanings = times(&own.cleaning.cleanings, factor),
            coverage.mating_weeks = times(&own.coverage.mating_weeks, factor),
            coverage.mating_clusters = times(&own.coverage.mating_clusters, factor),
            rates.in_force = times(&own.rates.in_force, factor),
            rates.force_weeks = times(&own.rates.force_weeks, factor),
            entry = PassageCounts {
                passages: times(&own.entry.passages, factor),
                weeks: times(&own.entry.weeks, factor),
                loads: times(&own.entry.loads, factor),
                second_looks: times(&own.entry.second_looks, factor),
            },
        ));
        for (table, least) in [
            ("first_pass", 100),
            ("cycles", 100),
            ("coverage", 100),
            ("entry", 80),
            ("changes", 100),
        ] {
            assert!(sound(&review, table) > least, "{table}");
        }
    }
}

#[test]
fn empty_cells_change_nothing() {
    let own = &demo().derived.counts;
    let mut counts = own.clone();
    // Codes that are there, but never together with cycle 19.
    let (cell, _) = counts.cleaning.cycle_trials.coded()[0];
    let cell = [cell[0], cell[1], cell[2], cell[3], cell[4], 0, 1, 19];
    add(&mut counts.cleaning.cycle_trials, cell, [0; 9]);
    let (cell, _) = counts.coverage.mating_clusters.coded()[0];
    let cell = [cell[0], cell[1] + 1, cell[2], 0, 0];
    add(&mut counts.coverage.mating_clusters, cell, [0; 14]);
    let (before, after) = (reviewed(own.clone()), reviewed(counts));
    assert_eq!(before.cycles.rows, after.cycles.rows);
    let fleet = |review: &Review| -> Vec<coverage::Row> {
        let rows = review.coverage.rows.iter();
        rows.filter(|row| row.by == coverage::By::Fleet).cloned().collect()
    };
    assert_eq!(fleet(&before), fleet(&after));
}

/// Sites are clusters of the regression: under other numbers they are the same clusters.
#[test]
fn numbering_sites_otherwise_changes_no_odds() {
    let own = &demo().derived.counts;
    let sites = demo().review.sites.len() as u32;
    let cycle_trials = changed(&own.cleaning.cycle_trials, |mut cell, counts| {
        cell[2] = sites - 1 - cell[2];
        (cell, counts)
    });
    let other = reviewed(with!(own, cleaning.cycle_trials = cycle_trials));
    let before = rows(&demo().review, By::Treatment, Quantity::OddsRatio);
    let after = rows(&other, By::Treatment, Quantity::OddsRatio);
    assert_eq!(before.len(), after.len());
    for (before, after) in before.iter().zip(after) {
        for (x, y) in
            [(before.estimate, after.estimate), (before.low, after.low), (before.high, after.high)]
        {
            assert!((x.unwrap() / y.unwrap() - 1.0).abs() < 1e-9, "{before:?} {after:?}");
        }
    }
}

/// Where each stage has one family of its own, families cannot be told from stages.
#[test]
fn what_the_columns_before_imply_is_not_identified() {
    let own = &demo().derived.counts;
    let cycle_trials = changed(&own.cleaning.cycle_trials, |mut cell, counts| {
        cell[4] = cell[3];
        (cell, counts)
    });
    let review = reviewed(with!(own, cleaning.cycle_trials = cycle_trials));
    let families = rows(&review, By::Family, Quantity::OddsRatio);
    assert!(families.len() >= 4);
    for row in families {
        assert_eq!((row.estimate, row.flags.as_slice()), (None, &[Flag::NotIdentified][..]));
    }
    for row in rows(&review, By::Treatment, Quantity::OddsRatio) {
        assert!(row.is_firm() && row.estimate.is_some(), "{row:?}");
    }
    assert!(!rows(&review, By::Treatment, Quantity::AdjustedPassedByCycle).is_empty());
}

/// A method that always passed would have odds without end: its cycles are left out and counted.
#[test]
fn a_method_without_a_failure_is_left_out_and_counted() {
    let own = &demo().derived.counts;
    let method = demo().derived.glossary.method.0.find("wet").unwrap();
    let cycle_trials = changed(&own.cleaning.cycle_trials, |cell, mut counts| {
        if cell[6] == method {
            counts[1] = counts[0];
        }
        (cell, counts)
    });
    let review = reviewed(with!(own, cleaning.cycle_trials = cycle_trials));
    let names: Vec<&str> = rows(&review, By::Treatment, Quantity::OddsRatio)
        .iter()
        .filter_map(|row| row.group.treatment.as_deref())
        .collect();
    assert!(!names.is_empty() && !names.contains(&"wet"), "{names:?}");
    let wet = rows(&demo().review, By::Treatment, Quantity::OddsRatio);
    let wet = wet.iter().find(|row| row.group.treatment.as_deref() == Some("wet")).unwrap().n;
    let left_out = rows(&review, By::Fleet, Quantity::CyclesLeftOut)[0];
    assert!(left_out.estimate.unwrap() >= wet, "{left_out:?}");
}
