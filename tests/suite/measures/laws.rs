//! What must hold for every row of every measure, on the demo.

use motetrail::derive::Coverage;
use motetrail::measures::coverage::{Base, By, Quantity};
use motetrail::measures::results::Cells;
use motetrail::measures::{Leading, Unit};
use motetrail::measures::{cycles, first_pass, skipped_cost};

use crate::printed::{self, columns};
use crate::review::demo::demo;

fn every_row() -> impl Iterator<Item = (&'static str, Leading<'static>)> {
    let tables = demo().review.tables().into_iter();
    tables.flat_map(|table| table.leading().into_iter().map(|row| (table.name(), row)))
}

#[test]
fn estimates_lie_inside_their_intervals_and_are_finite() {
    let mut with_interval = 0;
    for (table, row) in every_row() {
        for value in [row.estimate, row.low, row.high].into_iter().flatten() {
            assert!(value.is_finite(), "{table}: {row:?}");
        }
        // The limits of a control chart are of what may come, not of what did.
        let is_chart = matches!(row.quantity, "first-pass-week" | "site-funnel");
        if let (Some(estimate), Some(low), Some(high), false) =
            (row.estimate, row.low, row.high, is_chart)
        {
            with_interval += 1;
            let slack = 1e-9 * (1.0 + estimate.abs());
            assert!(low <= estimate + slack && estimate <= high + slack, "{table}: {row:?}");
        }
        if row.unit == Unit::Share {
            for share in [row.estimate, row.low, row.high].into_iter().flatten() {
                assert!((0.0..=1.0).contains(&share), "{table}: {row:?}");
            }
        }
    }
    assert!(with_interval > 1000, "{with_interval}");
}

#[test]
fn every_column_has_a_cell_a_row_and_every_row_its_flags_in_order() {
    for table in demo().review.tables() {
        let rows = table.leading();
        for column in columns(table) {
            assert_eq!(column.cells.len(), rows.len(), "{}: {}", table.name(), column.spec.name);
        }
        for row in rows {
            assert!(row.flags.is_sorted_by(|a, b| a < b), "{}: {row:?}", table.name());
            assert!(!row.method.is_empty() && !row.quantity.is_empty());
        }
    }
}

/// What a declaration says of a column holds of its cells.
#[test]
fn columns_hold_what_they_are_declared_to_hold() {
    for table in demo().review.tables() {
        for column in columns(table) {
            let (name, spec) = (table.name(), &column.spec);
            let (empty, words) = match &column.cells {
                Cells::Text(cells) => {
                    (cells.contains(&None), cells.iter().flatten().cloned().collect())
                }
                Cells::Integer(cells) => (cells.contains(&None), Vec::new()),
                Cells::Real(cells) => (cells.contains(&None), Vec::new()),
            };
            assert!(spec.may_be_empty || !empty, "{name}: {}", spec.name);
            for word in words {
                let known = spec.words.iter().any(|known| known.word == word);
                assert!(spec.words.is_empty() || known, "{name}: {} says {word}", spec.name);
            }
        }
    }
}

#[test]
fn groups_add_up_to_the_fleet() {
    let demo = demo();
    for (table, quantity, groupings) in [
        (
            "first_pass",
            "first-pass-clean",
            &["stage", "family", "stage+family", "side", "site", "capped"][..],
        ),
        ("coverage", "skipped", &["stage", "family", "site"][..]),
        ("fault_rates", "fault-cost", &["stage", "family", "stage+family", "site"][..]),
    ] {
        let sum = |by: &str| {
            let rows = printed::rows(&demo.review, table, by, quantity);
            let n: f64 = rows.iter().map(|row| row.row.n).sum();
            (n, rows.iter().map(|row| row.row.events.unwrap()).sum::<i64>())
        };
        assert!(sum("fleet").0 > 0.0);
        for by in groupings {
            assert_eq!(sum(by), sum("fleet"), "{table} by {by}");
        }
    }
}

/// The weeks before the last, unfinished one hold the period's routine first looks and those of the
/// quarters before it.
#[test]
fn weeks_add_up_to_the_quarters_but_for_the_last_days() {
    let demo = demo();
    let table = &demo.review.first_pass;
    let weeks = table.rows_of(first_pass::By::Week, first_pass::Quantity::Week);
    let quarters = table.rows_of(first_pass::By::Quarter, first_pass::Quantity::Clean);
    let weeks: Vec<f64> = weeks.map(|row| row.n).collect();
    assert!(weeks.len() >= 77);
    let weeks: f64 = weeks.iter().sum();
    let quarters: f64 = quarters.map(|row| row.n).sum();
    assert!(weeks <= quarters && weeks > quarters * 0.99, "{weeks} of {quarters}");
}

#[test]
fn money_by_cell_adds_up_to_the_fleets_but_for_each_cells_rounding() {
    use skipped_cost::{By, Quantity};
    let cost = |by| -> (i64, i64) {
        let rows = demo().review.skipped_cost.rows_of(by, Quantity::NetSaving);
        rows.fold((0, 0), |(sum, cells), row| (sum + row.own.fault_cost.unwrap().0, cells + 1))
    };
    let (fleet, _) = cost(By::Fleet);
    assert!(fleet > 0);
    for by in [By::StageFamily, By::SiteStage] {
        // Money of a year is not whole before it is rounded: half a cent a cell, and the fleet's own half.
        let (sum, cells) = cost(by);
        assert!(2 * (sum - fleet).abs() <= cells + 1, "{by:?}: {sum} and {fleet}");
    }
}

#[test]
fn coverage_shares_add_up_to_one() {
    let coverage = &demo().review.coverage;
    for base in [Base::All, Base::Known] {
        let share: f64 = Coverage::shown()
            .flat_map(|class| coverage.rows_of(By::Fleet, Quantity::of_class(class)))
            .filter(|row| row.own.base == Some(base))
            .map(|row| row.estimate.unwrap())
            .sum();
        assert!((share - 1.0).abs() < 1e-12, "{base:?}: {share}");
    }
}

#[test]
fn only_firm_cells_are_ranked_and_running_shares_end_at_the_share_of_the_ranked() {
    use skipped_cost::{By, Quantity, Row};
    for by in [By::StageFamily, By::SiteStage] {
        let rows: Vec<&Row> = demo().review.skipped_cost.rows_of(by, Quantity::NetSaving).collect();
        let ranked: Vec<&&Row> = rows.iter().filter(|row| row.is_firm()).collect();
        assert!(ranked.len() >= 3, "{by:?}");
        for (rank, row) in (1..).zip(&ranked) {
            assert_eq!(row.own.rank, Some(rank));
        }
        assert!(ranked.is_sorted_by(|a, b| a.estimate >= b.estimate), "{by:?}");
        let last = ranked[ranked.len() - 1].own.running_share.unwrap();
        // What may not be ranked counts among that which the shares are of.
        let gain = |row: &Row| row.estimate.unwrap_or(0.0).max(0.0);
        let of_ranked: f64 = ranked.iter().map(|row| gain(row)).sum();
        let of_all: f64 = rows.iter().map(|row| gain(row)).sum();
        assert!((last - of_ranked / of_all).abs() < 1e-12, "{by:?}: {last}");
        for row in rows.iter().filter(|row| !row.is_firm()) {
            assert_eq!(row.own.rank, None);
        }
    }
}

#[test]
fn passing_by_cycle_never_falls_and_leaves_room_for_rejects() {
    let table = &demo().review.cycles;
    for by in [cycles::By::Fleet, cycles::By::Treatment] {
        let rows: Vec<_> = table.rows_of(by, cycles::Quantity::PassedByCycle).collect();
        for curve in rows.chunk_by(|a, b| a.group == b.group && a.own.bracket == b.own.bracket) {
            assert!(curve.is_sorted_by(|a, b| a.estimate <= b.estimate));
            let last = curve[curve.len() - 1];
            let rejected = last.own.rejected.unwrap();
            assert!(last.estimate.unwrap() + rejected <= 1.0 + 1e-12);
        }
    }
}

/// People give up because dirt is stubborn: counting that as competing cannot raise the share that
/// passes.
#[test]
fn censoring_and_competing_bracket_the_share_that_passes() {
    let table = &demo().review.cycles;
    let of = |bracket: cycles::Bracket| -> Vec<f64> {
        let rows = table.rows_of(cycles::By::Fleet, cycles::Quantity::PassedByCycle);
        let rows = rows.filter(|row| row.own.bracket == Some(bracket));
        rows.map(|row| row.estimate.unwrap()).collect()
    };
    let (censored, competing) = (of(cycles::Bracket::Censored), of(cycles::Bracket::Competing));
    assert_eq!(censored.len(), competing.len());
    assert!(censored.iter().zip(&competing).all(|(upper, lower)| lower <= upper));
}
