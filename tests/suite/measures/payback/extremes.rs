//! No number out of none, out of enormous ones, and the speed of twenty proposals.

use std::time::{Duration, Instant};

use motetrail::measures::payback::{FleetFlows, Quantity, Table};
use motetrail::settings::{EffectKind, Proposal, Stated};

use super::{coverage, flows, minutes, proposal, table};
use crate::printed::own_numbers;

fn sound(table: &Table) {
    for row in &table.rows {
        let numbers = [row.low, row.estimate, row.high];
        assert!(numbers.into_iter().flatten().all(f64::is_finite), "{row:?}");
        if let (Some(low), Some(value), Some(high)) = (row.low, row.estimate, row.high) {
            assert!(low <= value && value <= high, "{row:?}");
        }
    }
    assert!(own_numbers(table).into_iter().all(f64::is_finite));
}

fn every_kind() -> Vec<Proposal> {
    let odds = Some(Stated { low: 1.0, likely: 2.0, high: 100.0 });
    vec![
        coverage("look", 1.0),
        minutes("quick", 0.0, 1.0, 10_080.0),
        proposal("tool", EffectKind::Cleaning { contrast: None, odds }),
        Proposal { price: 0, units: 1, ..minutes("free", 1.0, 1.0, 1.0) },
        Proposal {
            price: 100_000_000_000_000,
            units: 1_000_000,
            running_cost: 100_000_000_000_000,
            life_months: 600,
            starts_after_months: 600,
            ..coverage("enormous", 1.0)
        },
    ]
}

#[test]
fn flows_of_nothing_and_of_enormous_amounts() {
    let mut empty = flows();
    for place in &mut empty.places {
        *place = motetrail::measures::payback::Place {
            site: place.site.clone(),
            stage: place.stage.clone(),
            ..Default::default()
        };
    }
    empty.skipped.iter_mut().flatten().for_each(|own| *own = Default::default());
    let mut enormous = flows();
    for place in &mut enormous.places {
        for count in
            [&mut place.known, &mut place.skipped, &mut place.unseen_ends, &mut place.cleanings]
        {
            *count *= 1e12;
        }
        place.purse = place.purse.map(|money| money * 1e12);
    }
    for own in enormous.skipped.iter_mut().flatten() {
        own.cost *= 1e12;
        own.associated *= -1e12;
        own.looks *= 1e12;
    }
    for flows in [empty, enormous, FleetFlows::default()] {
        sound(&table(&flows, &every_kind(), Some(i64::MAX)));
        sound(&table(&flows, &[], None));
    }
}

/// Twenty proposals with 1,000 draws each, all million sets of them tried. How long that takes is printed;
/// failed is only what takes minutes, since a busy machine is no error.
#[test]
fn twenty_proposals_are_judged_in_seconds() {
    let mut flows = flows();
    let draws = flows.skipped.clone();
    flows.skipped = (0..1000).map(|at| draws[at % draws.len()].clone()).collect();
    let all: Vec<Proposal> = (0..20)
        .map(|number| {
            let low = 1.0 + 0.05 * f64::from(number);
            let price = 10_000 + 3_000 * i64::from(number);
            Proposal { price, ..minutes(&format!("quick {number}"), low, low + 0.2, 2.9) }
        })
        .collect();
    let started = Instant::now();
    let drawing = motetrail::measures::payback::Drawing { draws: 1000, ..super::drawing() };
    let asked = motetrail::measures::payback::Asked {
        proposals: &all,
        budget: Some(100_000),
        discount_rate: super::RATE,
        drawing,
    };
    let table = motetrail::measures::payback::payback(&flows, &asked);
    let took = started.elapsed();
    println!("20 proposals, 1,000 draws: {took:?}");
    sound(&table);
    assert!(table.rows.iter().any(|row| row.quantity == Quantity::BestSet));
    assert!(took < Duration::from_secs(60), "{took:?}");
}
