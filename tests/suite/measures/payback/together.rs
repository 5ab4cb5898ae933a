//! Several proposals: nothing saved twice, the best set, draws that do not depend on the company.

use motetrail::measures::Flag;
use motetrail::measures::payback::{FleetFlows, Quantity, Row, StepHazard, Table};
use motetrail::measures::results::Money;
use motetrail::settings::{EffectKind, Proposal, Stated};
use motetrail::stats::PersonTime;
use motetrail::stats::discounting::{annuity, part_rate};

use super::{RATE, coverage, flows, minutes, proposal, row, table, value};

fn rungs(table: &Table) -> Vec<(String, &Row)> {
    let rows = table.quantity(Quantity::Ladder);
    rows.map(|row| (row.own.set.clone().unwrap(), row)).collect()
}

fn factor(months: u32, from: u32) -> f64 {
    annuity(part_rate(RATE, 12), months, from) / 12.0
}

const LABOUR: f64 = 1.5 * 351_000.0;

/// Two means of halving the minutes of a cleaning.
fn halves(names: [&str; 2]) -> Vec<Proposal> {
    let half = |name: &str| {
        let mut own = minutes(name, 1.5, 1.5, 1.5);
        own.effects[0].means = Some(name.to_owned());
        own
    };
    names.map(half).to_vec()
}

#[test]
fn two_that_avoid_the_same_do_not_both_get_it() {
    let table = table(&flows(), &halves(["one", "other"]), None);
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

/// Flows with everything that effects act on, and a receipt where nothing is mated.
fn all_flows() -> FleetFlows {
    let mut flows = flows();
    let mut receipt = flows.places[0].clone();
    receipt.stage = "incoming".into();
    (receipt.known, receipt.both, receipt.skipped) = (0.0, 0.0, 0.0);
    flows.places.push(receipt);
    flows.skipped.iter_mut().for_each(|draw| draw.push(Default::default()));
    let step = StepHazard { low: 0.2, high: 0.3, ..super::kinds::step() };
    let before = StepHazard { from: "production".into(), to: "incoming".into(), ..step.clone() };
    flows.entry = Some(vec![before, step]);
    flows.carriers = Some(super::kinds::excess());
    flows
}

/// A proposal of every kind of effect, with what is uncertain stated as a range.
fn of_every_kind() -> Vec<Proposal> {
    let range = |low, likely, high| Stated { low, likely, high };
    let (from, to) = ("incoming".to_owned(), "installation".to_owned());
    let mut receipt = proposal("receipt", EffectKind::Inspection(range(0.8, 0.9, 1.0)));
    receipt.effects[0].stages = vec!["incoming".into()];
    vec![
        proposal("look", EffectKind::Coverage(range(0.8, 0.9, 0.95))),
        receipt,
        proposal("tool", EffectKind::Cleaning { contrast: None, odds: Some(range(1.5, 2.0, 3.0)) }),
        proposal("training", EffectKind::Entry { from, to, times: range(0.5, 0.6, 0.9) }),
        minutes("quick", 1.0, 1.5, 2.5),
        proposal("leads", EffectKind::Carriers { share: range(0.5, 0.8, 0.9), kinds: Vec::new() }),
    ]
}

/// What the set of all proposals is worth, whether or not it is the best for its price.
fn worth_of_all(flows: &FleetFlows, proposals: &[Proposal]) -> f64 {
    let names: Vec<String> = proposals.iter().map(|own| own.name.clone()).collect();
    // Whoever is in a set needs all others; a gift that needs them too makes any such set worth having.
    let gift = Proposal { price: 0, needs: names.clone(), ..coverage("gift", 0.0) };
    let tied = |own: &Proposal| {
        let mut own = own.clone();
        own.needs = names.iter().filter(|name| **name != own.name).cloned().collect();
        own
    };
    let all: Vec<Proposal> = proposals.iter().map(tied).chain([gift]).collect();
    let table = table(flows, &all, None);
    let rungs = rungs(&table);
    let last = rungs.last().unwrap_or_else(|| panic!("{names:?} are worth nothing together"));
    assert!(names.iter().all(|name| last.0.contains(name)), "{}", last.0);
    last.1.estimate.unwrap()
}

#[test]
fn a_proposal_twice_is_worth_what_once_is_less_its_price() {
    let flows = all_flows();
    for own in of_every_kind() {
        let own = Proposal { price: 1_000, ..own };
        let once = value(
            &table(&flows, std::slice::from_ref(&own), None),
            &own.name,
            Quantity::NetPresentValue,
        );
        let twice = [own.clone(), Proposal { name: format!("{} again", own.name), ..own.clone() }];
        let both = worth_of_all(&flows, &twice);
        assert!((both - (once - 1_000.0)).abs() <= 1.0, "{}: {both} {once}", own.name);
    }
}

/// One purchase with the effects of all, at the price of all.
#[test]
fn a_set_is_worth_what_the_same_purchase_written_as_one_is() {
    let flows = all_flows();
    let mut all = of_every_kind();
    let mut north = coverage("north", 0.95);
    north.effects[0].sites = vec!["North".into()];
    all.push(north);
    let all: Vec<Proposal> = all.into_iter().map(|own| Proposal { price: 1_000, ..own }).collect();
    let mut one = Proposal { price: 1_000 * all.len() as i64, ..all[0].clone() };
    one.effects = all.iter().flat_map(|own| own.effects.clone()).collect();
    one.name = "one".to_owned();
    let written_as_one = value(&table(&flows, &[one], None), "one", Quantity::NetPresentValue);
    let set = worth_of_all(&flows, &all);
    assert!((set - written_as_one).abs() <= 1.0, "{set} {written_as_one}");
}

/// Two targets at one place: the higher is reached there, and no more than that.
#[test]
fn two_that_raise_coverage_reach_the_higher_target() {
    let flows = flows();
    let mut north = coverage("north", 0.95);
    north.effects[0].sites = vec!["North".into()];
    let everywhere = coverage("everywhere", 0.8);
    let mut south = everywhere.effects[0].clone();
    south.sites = vec!["South".into()];
    let mut one = Proposal { price: 200_000, ..north.clone() };
    (one.name, one.effects) = ("one".to_owned(), vec![north.effects[0].clone(), south]);
    let one = value(&table(&flows, &[one], None), "one", Quantity::NetPresentValue);
    let set = worth_of_all(&flows, &[north, everywhere]);
    assert!((set - one).abs() <= 1.0, "{set} {one}");
}

/// Different means of passing a cycle, and of letting in less dirt: odds and hazards are multiplied.
#[test]
fn odds_and_hazards_of_different_means_are_multiplied() {
    let flows = all_flows();
    let odds = |name: &str, odds: f64| {
        let odds = Some(Stated::known(odds));
        Proposal { price: 0, ..proposal(name, EffectKind::Cleaning { contrast: None, odds }) }
    };
    let times = |name: &str, times: f64| {
        let (from, to) = ("incoming".to_owned(), "installation".to_owned());
        let times = Stated::known(times);
        Proposal { price: 0, ..proposal(name, EffectKind::Entry { from, to, times }) }
    };
    let cases = [
        ([odds("a", 2.0), odds("b", 1.5)], odds("one", 3.0)),
        ([times("a", 0.5), times("b", 0.6)], times("one", 0.3)),
    ];
    for (both, one) in cases {
        let one = value(&table(&flows, &[one], None), "one", Quantity::NetPresentValue);
        let set = worth_of_all(&flows, &both);
        assert!((set - one).abs() <= 1.0, "{set} {one}");
    }
}

/// Where units cannot serve all, two purchases of the same serve what twice the units do.
#[test]
fn the_same_twice_serves_what_twice_the_units_serve() {
    let flows = flows();
    let with = |name: &str, units: u32| {
        let mut own = Proposal { price: 0, units, ..coverage(name, 1.0) };
        own.effects[0].capacity = Some(300.0);
        own
    };
    let two = table(&flows, &[with("two", 2)], None);
    let two = value(&two, "two", Quantity::NetPresentValue);
    let set = worth_of_all(&flows, &[with("a", 1), with("b", 1)]);
    assert!((set - two).abs() <= 1.0, "{set} {two}");
}

#[test]
fn what_excludes_or_needs_another_is_in_no_set_against_that() {
    let flows = flows();
    let mut all = halves(["one", "other"]);
    all[0].excludes = vec!["other".into()];
    let found = table(&flows, &all, None);
    let sets: Vec<String> = rungs(&found).into_iter().map(|(set, _)| set).collect();
    assert_eq!(sets, ["one"]);
    all[0] = Proposal { needs: vec!["other".into()], excludes: Vec::new(), ..all[0].clone() };
    let found = table(&flows, &all, None);
    let sets: Vec<String> = rungs(&found).into_iter().map(|(set, _)| set).collect();
    assert_eq!(sets, ["other", "one + other"]);
}

/// Over the months that only one of them lives, it saves all that it can alone.
#[test]
fn shares_combine_only_while_both_work() {
    let [short, late] = &halves(["short", "late"])[..] else { panic!("two") };
    let short = Proposal { life_months: 12, ..short.clone() };
    let late = Proposal { starts_after_months: 6, ..late.clone() };
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
        (0, None),
        (149_999, None),
        (200_000, Some("cheap")),
        (400_000, Some("fair")),
        (450_000, Some("fair + cheap")),
    ] {
        let table = table(&flows(), &all, Some(budget));
        let best = table.quantity(Quantity::BestSet).next();
        // A budget that pays for nothing is answered too.
        assert_eq!(best.unwrap().own.set.as_deref(), expected, "{budget}");
        assert_eq!(best.unwrap().own.reason.is_some(), expected.is_none());
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
