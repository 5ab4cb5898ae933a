//! What stands for prices that tickets do not state, on the demo's counts changed by hand.

use std::sync::OnceLock;

use motetrail::derive::Coverage;
use motetrail::derive::PricePart;
use motetrail::derive::counts::week_prices::{Key, Row as Count};
use motetrail::measures::skipped_cost::{By, Quantity, Row};
use motetrail::measures::trust::{MoneyOf, Quantity as Trusted};
use motetrail::measures::{Flag, Review};

use super::changed::{recounted, reviewed, with};
use crate::review::demo::demo;

/// The demo with what its tickets say changed.
fn changed(change: impl Fn(Key, Count) -> Count) -> Review {
    let own = &demo().derived.counts;
    let prices = recounted(&own.prices.week_prices, |cell, row| (cell, change(cell, row)));
    reviewed(with!(own, prices.week_prices = prices))
}

/// The same of its counts without the tickets that are silent already.
fn changed_stated(change: impl Fn(Key, Count) -> Count) -> Review {
    changed(|cell, row| change(cell, stated(row)))
}

fn stated(row: Count) -> Count {
    Count { tickets: row.tickets - row.unpriced, unpriced: 0, ..row }
}

/// The demo as if it had only the tickets that state a price.
fn own() -> &'static Review {
    static OWN: OnceLock<Review> = OnceLock::new();
    OWN.get_or_init(|| changed_stated(|_, row| row))
}

fn cells() -> Vec<(Key, Count)> {
    let cells = demo().derived.counts.prices.week_prices.cells();
    cells.into_iter().map(|(cell, row)| (cell, stated(row))).collect()
}

/// What money of the matings looked back is multiplied by to be of a year: twelve over the months of those that have run
/// their horizon, which are the same at every site.
fn a_year() -> f64 {
    12.0 / saving(own()).own.months.unwrap()
}

fn saving(review: &Review) -> &Row {
    review.skipped_cost.rows_of(By::Fleet, Quantity::NetSaving).next().unwrap()
}

fn cost(review: &Review) -> f64 {
    saving(review).own.fault_cost.unwrap().0 as f64
}

/// Whether somebody skipped a look before matings of a cell that have run their horizon: those of the last quarter have
/// not, and no money is of them.
fn is_skipped(cell: &Key) -> bool {
    let derived = &demo().derived;
    let last = derived.calendar.piece_of(derived.period.quarter).unwrap();
    cell.quarter.0 != last && matches!(cell.coverage, Coverage::One | Coverage::None)
}

/// What the demo's tickets of a cell's source, stage and family cost on average.
fn mean(cells: &[(Key, Count)], of: &Key) -> f64 {
    let group = |cell: &Key| (cell.source, cell.stage, cell.family);
    let same = cells.iter().filter(|(cell, _)| group(cell) == group(of));
    let (money, tickets) = same.fold((0, 0), |(m, t), (_, row)| (m + row.stated, t + row.tickets));
    money as f64 / tickets as f64
}

#[test]
fn as_many_silent_tickets_again_cost_what_the_others_do_also_in_every_resample() {
    // As many as there are is half of all: not above the limit.
    let double =
        changed_stated(|_, row| Count { tickets: 2 * row.tickets, unpriced: row.tickets, ..row });
    let (own, cells) = (own(), cells());
    let skipped = cells.iter().filter(|(cell, _)| is_skipped(cell));
    let more: f64 = skipped.map(|(cell, row)| row.tickets as f64 * mean(&cells, cell)).sum();
    let more = more * a_year();
    assert!((cost(&double) - cost(own) - more).abs() <= 1.0);
    let (before, after) = (saving(own), saving(&double));
    assert_eq!((after.own.unpriced, after.flags.contains(&Flag::Unpriced)), (Some(0.5), false));
    let factor = cost(&double) / cost(own);
    for (was, is) in [
        (before.own.attributable_low, after.own.attributable_low),
        (before.own.attributable_high, after.own.attributable_high),
    ] {
        let (was, is) = (was.unwrap().0 as f64, is.unwrap().0 as f64);
        assert!((is / was / factor - 1.0).abs() < 0.1, "{was} {is} {factor}");
    }
    // So much is put in; counts are as they were.
    let mut put_in = double.trust.quantity(Trusted::MoneyPutIn);
    let row = put_in.find(|row| row.own.money == Some(MoneyOf::SkippedCost)).unwrap();
    assert!((row.own.share_put_in.unwrap() - more / cost(&double)).abs() < 1e-6);
    let ratio = |row: &Row| (row.n, row.events, row.own.ratio);
    assert_eq!(ratio(before), ratio(after));
}

#[test]
fn a_silent_ticket_costs_what_the_others_of_its_source_stage_and_family_cost_on_average() {
    let cells = cells();
    let (key, row) = cells
        .iter()
        .filter(|(cell, _)| is_skipped(cell))
        .max_by_key(|(_, row)| row.tickets)
        .copied()
        .unwrap();
    let more = changed_stated(|cell, row| match cell == key {
        true => Count { tickets: row.tickets + 1, unpriced: 1, ..row },
        false => row,
    });
    let wanted = mean(&cells, &key);
    assert!(row.tickets > 1 && (wanted - row.stated as f64 / row.tickets as f64).abs() > 1.0);
    let grown = (cost(&more) - cost(own())) / a_year();
    assert!((grown - wanted).abs() <= 1.0, "{grown} and not {wanted}");
}

#[test]
fn a_part_that_a_ticket_lacks_costs_the_mean_of_the_stated_ones_and_one_that_nobody_states_is_outside()
 {
    // One ticket a cell lacks labour, which the others state at 100.00 each.
    let lacking = |known: i64| {
        changed_stated(|_, row| Count {
            labour_missing: row.tickets,
            labour_known: known * row.tickets,
            labour_cost: known * 10_000 * row.tickets,
            ..row
        })
    };
    let own = own();
    let cells = cells();
    let skipped = cells.iter().filter(|(cell, _)| is_skipped(cell));
    let skipped: i64 = skipped.map(|(_, row)| row.tickets).sum();
    let labour = 10_000.0 * skipped as f64 * a_year();
    assert!((cost(&lacking(3)) - cost(own) - labour).abs() <= 1.0);
    // Nobody states it: outside the price.
    assert!((cost(&lacking(0)) - cost(own)).abs() <= 1.0);
    assert!(!saving(&lacking(0)).flags.contains(&Flag::Unpriced));
}

#[test]
fn trust_names_the_part_that_no_source_states() {
    let own = &demo().derived.counts;
    let prices = recounted(&own.prices.fault_prices, |cell, row| {
        (cell, Count { trips_missing: row.tickets, trips_known: 0, trips_cost: 0, ..row })
    });
    let review = reviewed(with!(own, prices.fault_prices = prices));
    let outside: Vec<_> = review.trust.quantity(Trusted::PartOutside).collect();
    let [row] = outside[..] else { panic!("{outside:?}") };
    assert_eq!(row.own.part, Some(PricePart::Trips));
    assert!(row.estimate > Some(100.0));
}

#[test]
fn without_any_price_no_money_is_shown_and_nothing_else_changes() {
    let none = changed(|_, row| Count {
        faults: row.faults,
        tickets: row.tickets,
        unpriced: row.tickets,
        ..Count::default()
    });
    let row = saving(&none);
    assert!(row.flags.contains(&Flag::Unpriced));
    assert_eq!((row.estimate, row.low, row.high, row.own.fault_cost), (None, None, None, None));
    let own = &demo().review;
    let ratios = |review: &Review| {
        review.skipped_cost.quantity(Quantity::RateRatio).cloned().collect::<Vec<_>>()
    };
    assert_eq!(ratios(&none), ratios(own));
    let cells = none.skipped_cost.rows_of(By::StageFamily, Quantity::NetSaving);
    assert!(cells.into_iter().all(|row| row.own.rank.is_none()));
    assert!(none.payback.rows.iter().any(|row| row.flags.contains(&Flag::Unpriced)));
    assert!(none.worklist.rows.iter().all(|row| row.own.mean_fault_cost.is_none()));
}
