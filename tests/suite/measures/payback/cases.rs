//! One proposal: price, discounting, draws, capacity.

use motetrail::measures::payback::{By, Quantity, Row, Source};
use motetrail::measures::results::Money;
use motetrail::settings::{EffectKind, Proposal, Stated};
use motetrail::stats::discounting::{discounted, part_rate};

use super::{RATE, coverage, flows, minutes, proposal, row, table, value};

/// What a flow of one a year is worth, month by month.
fn factor(life: u32, start: u32) -> f64 {
    let mut months = vec![0.0; start as usize + 1];
    months.extend(vec![1.0 / 12.0; life as usize]);
    discounted(&months, part_rate(RATE, 12)).into_iter().sum()
}

/// Nothing changes: coverage that is there already, odds as they are, minutes as they are, a hazard
/// times 1, none of the carriers' dirt.
#[test]
fn a_proposal_with_no_effect_loses_exactly_its_price() {
    let mut flows = flows();
    flows.entry = Some(vec![super::kinds::step()]);
    flows.carriers = Some(super::kinds::excess());
    let one = Stated::known(1.0);
    let kinds = [
        EffectKind::Coverage(Stated { low: 0.0, likely: 0.3, high: 0.6 }),
        EffectKind::Cleaning { contrast: None, odds: Some(one) },
        EffectKind::Minutes { minutes: Stated::known(3.0), instead_of: None },
        EffectKind::Entry { from: "incoming".into(), to: "installation".into(), times: one },
        EffectKind::Carriers { share: Stated::known(0.0), kinds: Vec::new() },
    ];
    for (number, kind) in kinds.into_iter().enumerate() {
        let name = format!("nothing {number}");
        let own = Proposal { units: 3, ..proposal(&name, kind) };
        let table = table(&flows, &[own], None);
        let worth = row(&table, &name, Quantity::NetPresentValue);
        let lost = Some(-300_000.0);
        assert_eq!([worth.estimate, worth.low, worth.high], [lost; 3], "{name}");
        assert_eq!(value(&table, &name, Quantity::BreakEvenPrice), 0.0, "{name}");
        assert_eq!(value(&table, &name, Quantity::PaysBack), 0.0);
        assert_eq!(row(&table, &name, Quantity::PaybackMonth).estimate, None);
        assert!(!table.rows.iter().any(|row| row.by == By::Set), "{name} is worth no place");
    }
}

#[test]
fn the_mean_of_the_draws_is_that_of_the_closed_form() {
    // Labour of 526,500 a year is straight in the minutes.
    let labour = 1.5 * 351_000.0;
    let (low, likely, high): (f64, f64, f64) = (1.0, 1.5, 2.9);
    let own = Proposal { running_cost: 20_000, ..minutes("quick", low, likely, high) };
    let table = table(&flows(), &[own], None);
    let mean = (low + likely + high) / 3.0;
    let variance =
        (low * low + likely * likely + high * high - low * likely - low * high - likely * high)
            / 18.0;
    let saving = labour * (1.0 - mean / 3.0);
    let error = labour / 3.0 * (variance / 400.0).sqrt();
    let found = value(&table, "quick", Quantity::Saving);
    assert!((found - saving).abs() < 4.0 * error, "{found} {saving} {error}");
    let worth = (found - 20_000.0) * factor(36, 0) - 100_000.0;
    // The saving in the table is whole cents.
    assert!((value(&table, "quick", Quantity::NetPresentValue) - worth).abs() <= 3.0);
}

/// Cost and ratio of the flows scatter together: the mean is that of their products.
#[test]
fn the_mean_over_draws_of_coverage_is_the_sum_of_what_was_drawn() {
    let flows = flows();
    let table = table(&flows, &[coverage("look", 0.8)], None);
    // From 60 to 80 % of known matings: half of the skipped ones.
    let drawn = flows
        .skipped
        .iter()
        .map(|draw| draw.iter().map(|own| 0.5 * (own.associated - own.looks)).sum::<f64>() / 400.0);
    let mean: f64 = drawn.sum();
    assert!((value(&table, "look", Quantity::Saving) - mean).abs() <= 1.0);
    let faults: f64 = flows.skipped.iter().flatten().map(|own| own.faults / 800.0).sum();
    assert!((value(&table, "look", Quantity::FaultsAvoided) - faults).abs() < 1e-9 * faults);
    let hours = value(&table, "look", Quantity::DowntimeAvoided);
    assert!((hours - 1.5 * faults).abs() < 1e-9 * faults);
}

#[test]
fn at_the_break_even_price_it_is_worth_nothing() {
    for units in [1, 7] {
        let own = Proposal { units, running_cost: 3_000, ..coverage("look", 0.95) };
        let flows = flows();
        let found = table(&flows, std::slice::from_ref(&own), None);
        let price = value(&found, "look", Quantity::BreakEvenPrice).round() as i64;
        let again = table(&flows, &[Proposal { price, ..own }], None);
        // The price is whole cents, a unit.
        let worth = value(&again, "look", Quantity::NetPresentValue);
        assert!(worth.abs() <= f64::from(units), "{units}: {worth}");
    }
}

#[test]
fn twice_the_units_of_what_is_capped_save_less_than_twice() {
    let flows = flows();
    let saving = |units: u32, capacity: f64| {
        let mut own = Proposal { units, ..coverage("look", 1.0) };
        own.effects[0].capacity = Some(capacity);
        value(&table(&flows, &[own], None), "look", Quantity::Saving)
    };
    // 900 unseen ends a year.
    let (one, two) = (saving(1, 300.0), saving(2, 300.0));
    assert!((two - 2.0 * one).abs() <= 2.0, "both are used to the full");
    let (one, two) = (saving(1, 600.0), saving(2, 600.0));
    assert!(two < 1.6 * one && two > one, "{one} {two}");
    assert_eq!(saving(1, 900.0), saving(2, 900.0), "all is looked at by one");
}

#[test]
fn a_later_start_is_discounted_and_a_life_ends() {
    let start = Proposal { starts_after_months: 5, ..minutes("quick", 1.0, 1.0, 1.0) };
    let table = table(&flows(), &[start], None);
    let saving = value(&table, "quick", Quantity::Saving);
    let worth = saving * factor(36, 5) - 100_000.0;
    assert!((value(&table, "quick", Quantity::NetPresentValue) - worth).abs() <= 1.0);
    let months: Vec<&Row> = table.rows.iter().filter(|row| row.by == By::ProposalMonth).collect();
    let at = |row: &&Row| row.own.month.unwrap();
    assert_eq!(months.iter().map(at).collect::<Vec<_>>(), (0..=41).collect::<Vec<_>>());
    assert!(months[..=5].iter().all(|row| row.estimate == Some(-100_000.0)));
    assert_eq!(months[41].estimate, row(&table, "quick", Quantity::NetPresentValue).estimate);
    // The curve crosses zero in the month of payback.
    let month = value(&table, "quick", Quantity::PaybackMonth);
    let after = month.ceil() as usize;
    assert!(months[after].estimate >= Some(0.0) && months[after - 1].estimate <= Some(0.0));
}

#[test]
fn lives_of_many_years_have_at_most_some_sixty_points() {
    let long = Proposal { life_months: 600, ..minutes("quick", 1.0, 1.0, 1.0) };
    let table = table(&flows(), &[long], None);
    let points = table.rows.iter().filter(|row| row.by == By::ProposalMonth).count();
    assert_eq!(points, 61);
}

#[test]
fn the_tornado_moves_one_number_at_a_time() {
    let table = table(&flows(), &[minutes("quick", 1.0, 2.0, 2.5)], None);
    let bars: Vec<&Row> =
        table.rows.iter().filter(|row| row.quantity == Quantity::Tornado).collect();
    assert_eq!(bars.len(), 1);
    let own = &bars[0].own;
    for (end, worth) in [(own.input_low, own.worth_at_low), (own.input_high, own.worth_at_high)] {
        let saving = 1.5 * 351_000.0 * (1.0 - end.unwrap() / 3.0);
        let Money(worth) = worth.unwrap();
        assert!((worth as f64 - (saving * factor(36, 0) - 100_000.0)).abs() <= 1.0);
    }
    // The ends leave out a fortieth of the triangle on either side.
    let below = (own.input_low.unwrap() - 1.0).powi(2) / (1.5 * 1.0);
    assert!((below - 0.025).abs() < 1e-12);
}

#[test]
fn the_tornado_of_coverage_has_ratio_cost_and_what_was_stated() {
    let own = proposal("look", EffectKind::Coverage(Stated { low: 0.7, likely: 0.8, high: 0.9 }));
    let table = table(&flows(), &[own], None);
    let bars: Vec<&Row> =
        table.rows.iter().filter(|row| row.quantity == Quantity::Tornado).collect();
    let names: Vec<String> = bars.iter().map(|row| row.own.input.clone().unwrap()).collect();
    assert_eq!(names.len(), 3, "{names:?}");
    for word in ["rate ratio", "cost of faults", "coverage reached"] {
        assert!(names.iter().any(|name| name.contains(word)), "{word}");
    }
    let wide = |row: &&Row| row.high.unwrap() - row.low.unwrap();
    assert!(bars.is_sorted_by(|a, b| wide(a) >= wide(b)));
}

/// Its internal rate is the one at which it would be worth nothing: discounted at it, it is.
#[test]
fn at_its_internal_rate_it_is_worth_nothing() {
    let own = minutes("quick", 1.0, 1.0, 1.0);
    let found = table(&flows(), std::slice::from_ref(&own), None);
    let rate = value(&found, "quick", Quantity::InternalRate);
    let asked = motetrail::measures::payback::Asked {
        proposals: std::slice::from_ref(&own),
        budget: None,
        discount_rate: rate,
        drawing: super::drawing(),
    };
    let again = motetrail::measures::payback::payback(&flows(), &asked);
    let worth = value(&again, "quick", Quantity::NetPresentValue);
    assert!(worth.abs() <= 2.0, "{rate}: {worth}");
    // One that pays nothing back has none.
    let none = table(&flows(), &[minutes("slow", 3.0, 3.0, 3.0)], None);
    assert_eq!(row(&none, "slow", Quantity::InternalRate).estimate, None);
}

/// A lease is paid by the month: as a running cost of twelve of them a year, and nothing at the start but training.
#[test]
fn a_lease_costs_its_months_and_training_once() {
    let price = 0;
    let bought = minutes("quick", 1.0, 1.0, 1.0);
    let leased = Proposal { price, units: 2, monthly_price: 700, ..bought.clone() };
    let running = Proposal { price, units: 2, running_cost: 8_400, ..bought.clone() };
    let trained = Proposal { training_cost: 5_000, ..leased.clone() };
    let worth = |own: &Proposal| {
        let found = table(&flows(), std::slice::from_ref(own), None);
        value(&found, "quick", Quantity::NetPresentValue)
    };
    assert_eq!(worth(&leased), worth(&running));
    assert_eq!(worth(&trained), worth(&leased) - 5_000.0);
    let priced = table(&flows(), &[trained], None);
    assert_eq!(row(&priced, "quick", Quantity::NetPresentValue).own.price, Some(Money(5_000)));
}

/// Two effects of one proposal share the year of its units: they serve together what one alone would.
#[test]
fn capacity_is_the_proposals_and_not_each_effects() {
    let flows = flows();
    let saving = |both: bool| {
        let mut own = coverage("look", 1.0);
        own.effects[0].capacity = Some(600.0);
        own.effects[0].sites = vec!["North".into()];
        if both {
            let mut south = own.effects[0].clone();
            south.sites = vec!["South".into()];
            own.effects.push(south);
        }
        value(&table(&flows, &[own], None), "look", Quantity::Saving)
    };
    // 600 unseen ends in North, 300 in South: one unit looks at 600 of the 900, of which North has two thirds.
    let (north, both) = (saving(false), saving(true));
    assert!((both - north).abs() <= 2.0, "{north} {both}");
}

/// Counts of cleanings vary from year to year: what saves by the cleaning has an interval though all else is known.
#[test]
fn where_counts_vary_no_interval_has_width_zero() {
    let mut flows = flows();
    for (number, draw) in (0_u32..).zip(&mut flows.skipped) {
        let busier = 0.1 * (f64::from(number % 21) / 10.0 - 1.0);
        draw.iter_mut().for_each(|place| place.busier = busier);
    }
    let found = table(&flows, &[minutes("quick", 1.0, 1.0, 1.0)], None);
    let worth = row(&found, "quick", Quantity::NetPresentValue);
    assert!(worth.low < worth.estimate && worth.estimate < worth.high, "{worth:?}");
    let bars = found.quantity(Quantity::Tornado);
    let names: Vec<&str> = bars.filter_map(|row| row.own.input.as_deref()).collect();
    assert_eq!(names, ["cleanings a year against those counted"]);
}

#[test]
fn a_proposal_by_an_action_is_drawn_from_what_went_with_it() {
    use motetrail::measures::actions::Moves;
    use motetrail::measures::payback::Experience;
    let mut own = proposal("again", EffectKind::Coverage(Stated::known(1.0)));
    own.effects[0].as_action = Some("Training".to_owned());
    let mut flows = flows();
    // Without an estimate there is no value, and a reason.
    let lacking = table(&flows, &[own.clone()], None);
    let reason = lacking.rows[0].own.reason.clone().unwrap();
    assert!(reason.contains("Training"), "{reason}");
    let experience =
        |moves| Experience { action: "Training".to_owned(), moves, range: [0.7, 0.8, 0.85] };
    flows.experiences = vec![experience(Moves::FirstPass)];
    assert!(table(&flows, &[own.clone()], None).rows[0].own.reason.is_some());
    flows.experiences.push(experience(Moves::Skipped));
    let found = table(&flows, &[own], None);
    let bars = found.rows.iter().filter(|row| row.quantity == Quantity::Tornado);
    let bar = bars.into_iter().find(|row| row.own.source == Some(Source::Actions)).unwrap();
    assert!(bar.own.input.as_ref().unwrap().contains("Training"));
    assert!((bar.own.input_low.unwrap() - 0.7).abs() < 1e-9, "{bar:?}");
    assert!((bar.own.input_high.unwrap() - 0.85).abs() < 1e-9, "{bar:?}");
}
