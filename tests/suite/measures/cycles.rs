//! 5.2's models on the demo: what was planted is found, and the rows agree with one another.

use motetrail::derive::counts::{View, VisitRow, cycles as counted};
use motetrail::measures::cycles::{By, Quantity, Row};
use motetrail::synth::Recipe;

use crate::departures::Exports;
use crate::review::demo::{demo, holds};

fn rows(by: By, quantity: Quantity) -> Vec<&'static Row> {
    demo().review.cycles.rows_of(by, quantity).collect()
}

/// The fleet's row of a quantity that has one.
fn fleet(quantity: Quantity) -> &'static Row {
    rows(By::Fleet, quantity)[0]
}

/// Odds ratios of the methods of a review hold the planted ones.
fn hold_methods(rows: &[&Row], odds: impl Fn(&str) -> f64) {
    let mut compared = 0;
    for row in rows {
        let name = row.group.treatment.as_deref().unwrap();
        let against = row.own.against.as_deref().unwrap();
        // A cycle of several methods has no odds of its own.
        if name != "mixed" {
            let ratio = odds(name) / odds(against);
            assert!(holds(*row, ratio), "{name}: {ratio} not in {row:?}");
            compared += 1;
        }
    }
    assert_eq!(compared, 3);
}

/// Odds ratios of each later cycle hold those that `odds` says of it and the first; these may be several.
fn hold_cycles(rows: &[&Row], odds: impl Fn(usize) -> Vec<f64>) {
    assert!(rows.len() >= 2);
    for row in rows {
        assert_eq!(row.own.against.as_deref(), Some("1"));
        let cycle = row.own.cycle.unwrap() as usize;
        for ratio in odds(cycle) {
            assert!(holds(*row, ratio), "{ratio} not in {row:?}");
        }
    }
}

/// The generator's odds of passing are those of its methods times 0.75 a cycle, whatever the stage. That is of one end
/// face, which its luck makes neither easier nor harder: where orders, crews and months have luck of their own, as in
/// the demo, those left for a later cycle are the unlucky ones. So this is the demo's fleet without what is planted
/// there.
#[test]
fn odds_ratios_hold_the_planted_ones() {
    let exports = Exports::of(&Recipe::sound());
    let planted = &exports.truth.cycles;
    let review = exports.review().review;
    let rows = |by| review.cycles.rows_of(by, Quantity::OddsRatio).collect::<Vec<_>>();
    hold_methods(&rows(By::Treatment), |name| {
        planted.methods.iter().find(|method| method.method == name).unwrap().odds_ratio
    });
    hold_cycles(&rows(By::Cycle), |cycle| {
        vec![planted.odds_ratio_per_cycle.powi(cycle as i32 - 1)]
    });
}

/// With the demo's luck the methods compare as planted, and later cycles are as hard as they are for those whom that
/// luck leaves over: of every method, since their odds differ little between them.
#[test]
fn odds_ratios_of_later_cycles_hold_those_of_the_end_faces_left_over() {
    let methods = demo().truth["cycles"]["methods"].as_array().unwrap();
    hold_methods(&rows(By::Treatment, Quantity::OddsRatio), |name| {
        let method = methods.iter().find(|method| method["method"] == name).unwrap();
        method["odds_ratio"].as_f64().unwrap()
    });
    let cycles = rows(By::Cycle, Quantity::OddsRatio);
    hold_cycles(&cycles, |cycle| {
        let ratio = |method: &serde_json::Value| {
            let odds = |cycle: usize| {
                let passed = method["pass_of_those_left"][cycle - 1].as_f64().unwrap();
                passed / (1.0 - passed)
            };
            odds(cycle) / odds(1)
        };
        methods.iter().map(ratio).collect()
    });
    // The luck is strong enough to tell one from the other.
    let alone = demo().planted(&["cycles", "odds_ratio_per_cycle"]);
    assert!(cycles[0].high.unwrap() < alone, "{:?}", cycles[0]);
}

/// Standardised shares rise with the cycle; at the first cycle they are in the order of the odds.
#[test]
fn adjusted_curves_rise_and_keep_the_order_of_the_odds() {
    let curves = rows(By::Treatment, Quantity::AdjustedPassedByCycle);
    for curve in curves.chunk_by(|a, b| a.group == b.group) {
        assert_eq!(curve.len(), 5);
        assert!(curve.is_sorted_by(|a, b| a.estimate < b.estimate));
    }
    let odds = rows(By::Treatment, Quantity::OddsRatio);
    let first = |row: &&&Row| row.own.cycle == Some(1);
    let shares: Vec<(f64, f64)> = odds
        .iter()
        .map(|row| {
            let own = curves.iter().filter(first).find(|own| own.group == row.group).unwrap();
            (row.estimate.unwrap(), own.estimate.unwrap())
        })
        .collect();
    for (a, b) in shares.iter().flat_map(|a| shares.iter().map(move |b| (a, b))) {
        assert!((a.0 < b.0) == (a.1 < b.1), "{shares:?}");
    }
}

/// Chances of the generator fall by cycle, so one chance for all is refuted for the commonest
/// method, and the fitted hazard falls through the observed ones.
#[test]
fn fitted_hazards_fall_through_the_observed_ones() {
    let test = fleet(Quantity::ChancesDiffer);
    assert!(test.own.p.unwrap() < 0.01, "{test:?}");
    let fitted = rows(By::Fleet, Quantity::FittedHazard);
    assert!(fitted.is_sorted_by(|a, b| a.estimate > b.estimate));
    let observed = rows(By::Fleet, Quantity::Hazard);
    let gap = (observed[0].estimate.unwrap() - fitted[0].estimate.unwrap()).abs();
    assert!(gap < 0.03, "{gap}");
    for quantity in [Quantity::MeanChance, Quantity::ChanceA, Quantity::ChanceB] {
        let row = fleet(quantity);
        assert!(row.is_firm() && row.low.unwrap() < row.estimate.unwrap(), "{row:?}");
    }
    let estimate = |quantity| fleet(quantity).estimate.unwrap();
    let (a, b) = (estimate(Quantity::ChanceA), estimate(Quantity::ChanceB));
    assert!((a / (a + b) - estimate(Quantity::MeanChance)).abs() < 1e-9);
}

/// The regression's cycles are those of the visits followed: passes beyond the fifth cycle counted
/// from either table are the same.
#[test]
fn what_comes_late_is_the_same_from_exits_and_from_cycles() {
    let derived = &demo().derived;
    let quarters: Vec<u32> = derived
        .period
        .look_back
        .iter()
        .map(|quarter| derived.calendar.piece_of(*quarter).unwrap())
        .collect();
    let cells = derived.counts.cleaning.cycles.cells();
    let all = cells
        .iter()
        .filter(|(cell, _)| quarters.contains(&cell.quarter.0) && cell.view == View::All);
    type Figure = fn(&counted::Row) -> i64;
    let figures: [(Figure, _); 2] = [
        (|row| row.passed, [Quantity::PassesBeyondThree, Quantity::PassesBeyondFive]),
        (|row| row.cleanings, [Quantity::CleaningsBeyondThree, Quantity::CleaningsBeyondFive]),
    ];
    for (figure, quantities) in figures {
        for (cycle, quantity) in [3, 5].into_iter().zip(quantities) {
            let sum = |from: u32| -> i64 {
                let of = all.clone().filter(|(cell, _)| cell.cycle.0 > from);
                of.map(|(_, row)| figure(row)).sum()
            };
            let row = fleet(quantity);
            assert_eq!((row.n, row.events), (sum(0) as f64, Some(sum(cycle))), "{quantity:?}");
        }
    }
    let left_out = fleet(Quantity::CyclesLeftOut);
    let odds: f64 = rows(By::Cycle, Quantity::OddsRatio).iter().map(|row| row.n).sum();
    assert!(odds > 0.0 && odds < left_out.n - left_out.estimate.unwrap());
    assert!(left_out.is_firm(), "the demo's regression converges");
}

#[test]
fn minutes_weigh_looks_and_cleanings_by_their_length() {
    // Every cycle has a look and at least one cleaning, so its minutes lie beside its cleanings.
    let (minutes, cleanings) =
        (fleet(Quantity::MinutesBeyondThree), fleet(Quantity::CleaningsBeyondThree));
    assert!((minutes.estimate.unwrap() - cleanings.estimate.unwrap()).abs() < 0.02);
    assert!(minutes.n > cleanings.n);
    assert!(fleet(Quantity::MinutesBeyondFive).estimate < minutes.estimate);
}

/// No tool reaches a recessed lens: its visits are neither among those begun with a cleaning nor among those
/// that might have been.
#[test]
fn visits_begun_unseen_leave_recessed_lenses_out() {
    let derived = &demo().derived;
    let piece = |quarter| derived.calendar.piece_of(quarter).unwrap();
    let quarters: Vec<u32> = derived.period.look_back.iter().map(|q| piece(*q)).collect();
    let (mut cleanable, mut recessed) = ([0, 0], 0);
    for (cell, row) in derived.counts.first_pass.visits.cells() {
        if !quarters.contains(&cell.quarter.0) {
            continue;
        }
        match cell.row {
            VisitRow::Recessed => recessed += row.visits,
            _ => {
                cleanable[0] += row.visits;
                cleanable[1] += row.visits - row.looks;
            }
        }
    }
    assert!(recessed > 0, "the demo has visits of recessed lenses");
    let row = fleet(Quantity::CleanedUnseen);
    assert_eq!((row.n, row.events), (cleanable[0] as f64, Some(cleanable[1])));
}

/// The demo's worn tool is of the dry method: without it the others gain less over dry, and wet-dry as much as planted. The
/// ratio with it stands beside.
#[test]
fn odds_ratios_stand_with_and_without_the_tools_that_are_listed() {
    let with = rows(By::Treatment, Quantity::OddsRatio);
    let without = rows(By::Treatment, Quantity::OddsRatioWithoutCarriers);
    assert_eq!(with.len(), without.len());
    for (with, without) in with.iter().zip(&without) {
        assert_eq!(with.group, without.group);
        assert_eq!(without.own.left_out.as_deref(), Some("CW-DRY-2"));
        assert!(without.estimate <= with.estimate, "{with:?} {without:?}");
        // As wide, by the logarithm.
        let width = |row: &Row| row.high.unwrap() / row.low.unwrap();
        assert!((width(with) / width(without) - 1.0).abs() < 1e-9);
    }
    let is_wet_dry = |row: &&&Row| row.group.treatment.as_deref() == Some("wet-dry");
    let ratio = |rows: &[&'static Row]| rows.iter().find(is_wet_dry).unwrap().estimate.unwrap();
    let (with, without) = (ratio(&with), ratio(&without));
    assert!(with > 1.05 * without, "{with} {without}");
    assert!((without / 2.0).ln().abs() < (with / 2.0).ln().abs(), "{with} {without}");
}
