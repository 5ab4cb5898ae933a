//! Several proposals: nothing saved twice, the best set, draws that do not depend on the company.

use motetrail::measures::Flag;
use motetrail::measures::payback::{Quantity, Row, Table};
use motetrail::measures::results::Money;
use motetrail::settings::Proposal;
use motetrail::stats::PersonTime;
use motetrail::stats::discounting::{annuity, part_rate};

use super::{RATE, coverage, flows, minutes, row, table, value};

fn rungs(table: &Table) -> Vec<(String, &Row)> {
    let rows = table.quantity(Quantity::Ladder);
    rows.map(|row| (row.own.set.clone().unwrap(), row)).collect()
}

fn factor(months: u32, from: u32) -> f64 {
    annuity(part_rate(RATE, 12), months, from) / 12.0
}

const LABOUR: f64 = 1.5 * 351_000.0;

#[test]
fn two_that_avoid_the_same_do_not_both_get_it() {
    let halves = [minutes("one", 1.5, 1.5, 1.5), minutes("other", 1.5, 1.5, 1.5)];
    let table = table(&flows(), &halves, None);
    let alone = 0.5 * LABOUR * factor(36, 0) - 100_000.0;
    let both = 0.75 * LABOUR * factor(36, 0) - 200_000.0;
    assert!((value(&table, "one", Quantity::NetPresentValue) - alone).abs() <= 1.0);
    let rungs = rungs(&table);
    let sets: Vec<&str> = rungs.iter().map(|(set, _)| set.as_str()).collect();
    assert_eq!(sets, ["one", "one + other"]);
    assert!((rungs[0].1.estimate.unwrap() - alone).abs() <= 1.0);
    assert!((rungs[1].1.estimate.unwrap() - both).abs() <= 1.0);
    let Money(next) = rungs[1].1.own.next_thousand.unwrap();
    assert!((next as f64 - (both - alone)).abs() <= 1.0, "1,000.00 more buys that");
}

/// Over the months that only one of them lives, it saves all that it can alone.
#[test]
fn shares_combine_only_while_both_work() {
    let short = Proposal { life_months: 12, ..minutes("short", 1.5, 1.5, 1.5) };
    let late = Proposal { starts_after_months: 6, ..minutes("late", 1.5, 1.5, 1.5) };
    let table = table(&flows(), &[short, late], None);
    let rungs = rungs(&table);
    let (set, both) = rungs.last().unwrap();
    assert_eq!(set, "short + late");
    let worth =
        LABOUR * (0.5 * factor(6, 0) + 0.75 * factor(6, 6) + 0.5 * factor(30, 12)) - 200_000.0;
    assert!((both.estimate.unwrap() - worth).abs() <= 1.0);
}

#[test]
fn the_budget_chooses_the_best_set_that_it_pays_for() {
    let priced = |name: &str, price: i64, to: f64| Proposal { price, ..minutes(name, to, to, to) };
    let all =
        [priced("dear", 500_000, 0.3), priced("fair", 300_000, 0.9), priced("cheap", 150_000, 1.5)];
    for (budget, expected) in [
        (149_999, None),
        (200_000, Some("cheap")),
        (400_000, Some("fair")),
        (450_000, Some("fair + cheap")),
    ] {
        let table = table(&flows(), &all, Some(budget));
        let best = table.quantity(Quantity::BestSet).next();
        assert_eq!(best.map(|row| row.own.set.as_deref().unwrap()), expected, "{budget}");
        let is_chosen = |(_, row): &&(String, &Row)| row.own.chosen == Some(true);
        let chosen = rungs(&table).iter().filter(is_chosen).count();
        assert_eq!(chosen, usize::from(expected.is_some()));
    }
}

/// Draws hang on names: what else is proposed, and in which order, changes nothing.
#[test]
fn a_proposal_is_worth_the_same_in_any_company() {
    let own = minutes("quick", 0.5, 1.0, 2.9);
    let others = [coverage("look", 0.9), own.clone(), minutes("slow", 2.0, 2.1, 2.9)];
    let mut reversed = others.clone();
    reversed.reverse();
    let flows = flows();
    let alone = table(&flows, std::slice::from_ref(&own), None);
    for all in [&others, &reversed] {
        let table = table(&flows, all, None);
        for quantity in [Quantity::NetPresentValue, Quantity::PaybackMonth, Quantity::PaysBack] {
            assert_eq!(row(&table, "quick", quantity), row(&alone, "quick", quantity));
        }
    }
    let (one, other) = (table(&flows, &others, None), table(&flows, &reversed, None));
    let price = |table: &Table| -> Vec<(Option<Money>, f64)> {
        let rungs = rungs(table);
        rungs.iter().map(|(_, row)| (row.own.price, row.estimate.unwrap())).collect()
    };
    for ((a, x), (b, y)) in price(&one).iter().zip(price(&other)) {
        assert_eq!(*a, b);
        assert!((x - y).abs() <= 1.0);
    }
}

#[test]
fn flagged_proposals_are_valued_but_in_no_set() {
    let mut flows = flows();
    // Two faults on either side: too few for a ratio.
    flows.places[0].strata = vec![PersonTime { d1: 1, t1: 10.0, d0: 1, t0: 10.0 }];
    let all = [coverage("look", 0.9), minutes("quick", 1.0, 1.0, 1.0)];
    let table = table(&flows, &all, Some(10_000_000));
    assert_eq!(row(&table, "look", Quantity::NetPresentValue).flags, [Flag::Thin]);
    assert!(value(&table, "look", Quantity::NetPresentValue) > 0.0);
    let sets: Vec<String> = rungs(&table).into_iter().map(|(set, _)| set).collect();
    assert_eq!(sets, ["quick"]);
}

#[test]
fn controls_that_differ_flag_the_case() {
    let mut flows = flows();
    let strata = PersonTime { d1: 60, t1: 1000.0, d0: 60, t0: 1000.0 };
    flows.places[0].strata = vec![strata];
    flows.places[0].control = vec![PersonTime { d1: 40, d0: 5, ..strata }];
    let found = table(&flows, &[coverage("look", 0.9)], None);
    assert_eq!(row(&found, "look", Quantity::NetPresentValue).flags, [Flag::Confounded]);
    flows.places[0].control = vec![PersonTime { d1: 20, d0: 22, ..strata }];
    let found = table(&flows, &[coverage("look", 0.9)], None);
    assert!(row(&found, "look", Quantity::NetPresentValue).is_firm());
}
