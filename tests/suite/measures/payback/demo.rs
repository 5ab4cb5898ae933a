//! The demo's own proposals, and what must agree with its table of skipped cost.

use motetrail::measures::payback::Quantity;
use motetrail::measures::{review, skipped_cost};
use motetrail::settings::{self, Plan};

use super::{coverage, row, value};
use crate::review::demo::demo;

fn plan() -> Plan {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("data-demo/fleet.toml");
    settings::read(&path).unwrap()
}

#[test]
fn every_proposal_of_the_demo_is_valued_or_says_why_not() {
    let table = &demo().review.payback;
    let proposals = plan().proposals;
    assert_eq!(proposals.len(), 7);
    for own in &proposals {
        let row = row(table, &own.name, Quantity::NetPresentValue);
        assert_eq!(row.estimate.is_none(), row.own.reason.is_some(), "{row:?}");
    }
    assert!(table.rows.iter().any(|row| row.quantity == Quantity::BestSet));
}

/// Looking at every end everywhere saves what the table of skipped cost says of all its places together,
/// less the looks at stages without light, which it does not count.
#[test]
fn full_coverage_saves_the_net_saving_of_every_place() {
    let demo = demo();
    let mut plan = plan();
    let mut own = coverage("look everywhere", 1.0);
    let dark = &plan.stages.dark;
    let lit = plan.stages.order.iter().filter(|stage| !dark.contains(stage));
    own.effects[0].stages = lit.cloned().collect();
    plan.proposals = vec![own];
    plan.rules.draws = 1000;
    let review = review(&plan, &demo.derived, &[]).unwrap();
    let found = value(&review.payback, "look everywhere", Quantity::Saving);
    let places = {
        use skipped_cost::{By, Quantity};
        demo.review.skipped_cost.rows_of(By::SiteStage, Quantity::NetSaving)
    };
    let all: f64 = places.filter_map(|row| row.estimate).sum();
    // The one is a mean of draws, the other a sum of estimates; both are of the same twelve months.
    assert!((found / all - 1.0).abs() < 0.1, "{found} {all}");
}

/// The demo plants a rate ratio of 5 at lineside-fitting in Pellorin.
#[test]
fn microscopes_where_skipping_was_planted_to_cost_most_pay_back() {
    let table = &demo().review.payback;
    let worth = row(table, "Microscopes for Pellorin", Quantity::NetPresentValue);
    assert!(worth.is_firm() && worth.low > Some(0.0), "{worth:?}");
    let month = row(table, "Microscopes for Pellorin", Quantity::PaybackMonth);
    assert!(month.estimate.is_some() && month.low <= month.estimate);
}

/// Buying another method is not credited with what replacing the worn tool does: its odds are those without that tool.
#[test]
fn a_better_method_is_judged_by_the_odds_without_the_listed_tools() {
    use motetrail::measures::cycles::{By, Quantity as OfCycles};
    use motetrail::measures::payback::{By as Of, Source};
    let review = &demo().review;
    let without = review
        .cycles
        .rows_of(By::Treatment, OfCycles::OddsRatioWithoutCarriers)
        .find(|row| row.group.treatment.as_deref() == Some("wet-dry"))
        .unwrap();
    let mut bars = review.payback.rows_of(Of::ProposalInput, Quantity::Tornado);
    let bar = bars.find(|bar| bar.own.source == Some(Source::OddsRatio)).unwrap();
    let (low, high) = (bar.own.input_low.unwrap(), bar.own.input_high.unwrap());
    let middle = (low * high).sqrt();
    assert!((middle / without.estimate.unwrap() - 1.0).abs() < 1e-6, "{middle} {without:?}");
    // No surer than the table, whose error is over site-weeks alone.
    let reach = |low: f64, high: f64| (high / low).ln();
    assert!(reach(low, high) >= reach(without.low.unwrap(), without.high.unwrap()) * (1.0 - 1e-9));
}
