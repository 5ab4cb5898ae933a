//! Stated bias against published worked examples, a second formulation, and simulation.

use crate::stats::reference::{case, close_to};
use motetrail::stats::mantel_haenszel::mantel_haenszel;
use motetrail::stats::stated_bias::*;
use motetrail::stats::{Estimate, PersonTime};
use motetrail::synth::draw::Draw;
use serde_json::Value;

const GROUP: &str = "23_bias";

fn cells(case: &Value) -> [f64; 4] {
    let cells = case["inputs"]["cells"].as_array().unwrap();
    [0, 1, 2, 3].map(|at| cells[at].as_f64().unwrap())
}

fn input(case: &Value, name: &str) -> f64 {
    case["inputs"][name].as_f64().unwrap()
}

#[test]
fn exposures_recorded_wrongly_match_fink_and_lash_2003_and_a_constructed_case() {
    for id in ["mis_exposure_book", "mis_exposure_differential"] {
        let case = case(GROUP, id);
        let [a, b, c, d] = cells(&case);
        let of = |pair, who: &str| {
            let share = |what: &str| input(&case, &format!("{what}_{who}"));
            reclassified(pair, share("sensitivity"), share("specificity")).unwrap()
        };
        let ([a, b], [c, d]) = (of([a, b], "cases"), of([c, d], "noncases"));
        for (got, at) in [(a, 0), (b, 1), (c, 2), (d, 3)] {
            close_to(Some(got), &case["expected"]["corrected_cells"][at], 1e-9, 0.0);
        }
    }
}

#[test]
fn events_recorded_wrongly_match_lash_fox_and_fink_2009_and_a_constructed_case() {
    for id in ["mis_outcome_book", "tickets_missing_alike"] {
        let case = case(GROUP, id);
        let [a, b, c, d] = cells(&case);
        let of = |pair, who: &str| {
            let share = |what: &str| input(&case, &format!("{what}_{who}"));
            reclassified(pair, share("sensitivity"), share("specificity")).unwrap()
        };
        let ([a, c], [b, d]) = (of([a, c], "exposed"), of([b, d], "unexposed"));
        for (got, at) in [(a, 0), (b, 1), (c, 2), (d, 3)] {
            close_to(Some(got), &case["expected"]["corrected_cells"][at], 1e-9, 0.0);
        }
    }
}

#[test]
fn odds_among_those_not_selected_match_stang_and_others_2009() {
    let case = case(GROUP, "selection_stang");
    let [a, b, c, d] = cells(&case);
    let odds_of = |share: f64| share / (1.0 - share);
    let selected = |who: &str| input(&case, &format!("selected_{who}"));
    // Exposure of all cases, and of all others: odds of the selected over the odds ratio of being selected.
    let corrected = |exposed: f64, other: f64, who: &str| {
        let ratio = selected(&format!("exposed_{who}")) / selected(&format!("unexposed_{who}"));
        odds_of(unselected_share(exposed / (exposed + other), ratio).unwrap())
    };
    let ratio = corrected(a, b, "cases") / corrected(c, d, "noncases");
    close_to(Some(ratio), &case["expected"]["corrected"]["or"], 1e-9, 0.0);
}

fn strata() -> Vec<PersonTime> {
    let stratum = |d1, t1, d0, t0| PersonTime { d1, t1, d0, t0 };
    vec![
        stratum(9, 300.0, 5, 500.0),
        stratum(0, 20.0, 3, 400.0),
        stratum(14, 800.0, 4, 350.0),
        stratum(2, 90.0, 0, 60.0),
    ]
}

#[test]
fn excess_of_misplaced_units_is_that_of_the_corrected_strata() {
    let recorded = mantel_haenszel(&strata(), 0.95).ratio.value.unwrap();
    for misplaced in [0.0, 0.02, 0.1, 0.3] {
        let times = misplaced_excess(&strata(), misplaced).unwrap();
        // Sums of Mantel-Haenszel over strata with the misplaced taken back, written out.
        let (mut top, mut bottom) = (0.0, 0.0);
        for PersonTime { d1, t1, d0, t0 } in strata() {
            let (d1, d0) = (d1 as f64, d0 as f64);
            top += (d1 - misplaced * d0) * (1.0 + misplaced) * t0 / (t1 + t0);
            bottom += (1.0 + misplaced) * d0 * (t1 - misplaced * t0) / (t1 + t0);
        }
        let got = 1.0 + times * (recorded - 1.0);
        assert!((got - top / bottom).abs() < 1e-12, "{misplaced}: {got} not {}", top / bottom);
    }
    assert_eq!(misplaced_excess(&strata(), 5.0), None, "more misplaced than there are exposed");
    assert_eq!(misplaced_excess(&[], 0.1), None);
}

/// Events of so many units of time at a rate.
fn poisson(draw: &mut Draw, mean: f64) -> u64 {
    let (mut events, mut left) = (0, mean - draw.wait());
    while left > 0.0 {
        events += 1;
        left -= draw.wait();
    }
    events
}

#[test]
fn planted_shares_misplaced_are_taken_back_in_the_mean() {
    // Three strata whose rates and shares skipped differ; a third of the reference is recorded as exposed.
    let (ratio, kept) = (2.2, 0.64);
    let mut draw = Draw::seeded(5);
    let (mut recorded, mut corrected) = (0.0, 0.0);
    let fleets = 400;
    for _ in 0..fleets {
        let strata: Vec<PersonTime> =
            [(0.02, 900.0, 4000.0), (0.05, 2000.0, 1500.0), (0.01, 700.0, 3000.0)]
                .into_iter()
                .map(|(rate, t1, t0)| {
                    let misplaced = t0 * (1.0 - kept);
                    PersonTime {
                        d1: poisson(&mut draw, rate * ratio * t1)
                            + poisson(&mut draw, rate * misplaced),
                        t1: t1 + misplaced,
                        d0: poisson(&mut draw, rate * t0 * kept),
                        t0: t0 * kept,
                    }
                })
                .collect();
        let found = mantel_haenszel(&strata, 0.95).ratio.value.unwrap();
        let times = misplaced_excess(&strata, 1.0 / kept - 1.0).unwrap();
        recorded += found.ln() / f64::from(fleets);
        corrected += (1.0 + times * (found - 1.0)).max(0.01).ln() / f64::from(fleets);
    }
    assert!(recorded.exp() < 0.85 * ratio, "{}", recorded.exp());
    assert!((corrected.exp() / ratio - 1.0).abs() < 0.05, "{}", corrected.exp());
}

#[test]
fn planted_choice_of_looks_is_taken_back_in_the_mean() {
    // Dirt in a fifth; the odds of a look are three times as high with it; what skipping adds goes with the dirt that is left.
    let (ratio, dirty, odds) = (2.2, 0.2, 3.0);
    let mut strata = Vec::new();
    for (rate, clean_looked) in [(0.02, 0.5), (0.05, 0.8), (0.01, 0.3)] {
        let look_odds = odds * clean_looked / (1.0 - clean_looked);
        let dirty_looked = look_odds / (1.0 + look_odds);
        let looked: f64 = dirty * dirty_looked + (1.0 - dirty) * clean_looked;
        let left = dirty * (1.0 - dirty_looked) / (1.0 - looked);
        let failing = dirty * dirty_looked / looked;
        let (t1, t0) = (1e7 * (1.0 - looked), 1e7 * looked);
        let shows = 1.0 + (ratio - 1.0) * left / dirty;
        let stratum = PersonTime { d1: (rate * shows * t1) as u64, t1, d0: (rate * t0) as u64, t0 };
        let again = unselected_share(failing, odds).unwrap();
        assert!((again - left).abs() < 1e-12);
        strata.push((stratum, looked * failing / again + 1.0 - looked));
    }
    let plain: Vec<PersonTime> = strata.iter().map(|(stratum, _)| *stratum).collect();
    let recorded = mantel_haenszel(&plain, 0.95).ratio;
    let times = diluted_excess(&strata).unwrap();
    let found = with_excess(&recorded, times, "test");
    assert!(recorded.value.unwrap() < 1.8, "{recorded:?}");
    assert!((found.value.unwrap() - ratio).abs() < 1e-3, "{found:?}");
    assert!(
        found.low.unwrap() > recorded.low.unwrap() && found.high.unwrap() > recorded.high.unwrap()
    );
}

#[test]
fn lost_events_of_the_reference_scale_the_ratio_and_its_limits() {
    let ratio = mantel_haenszel(&strata(), 0.95).ratio;
    let found = with_reference_found(&ratio, 0.75, "test");
    for (got, from) in
        [(found.value, ratio.value), (found.low, ratio.low), (found.high, ratio.high)]
    {
        assert_eq!(got, from.map(|value| value * 0.75));
    }
}

#[test]
fn what_cannot_be_is_none() {
    assert_eq!(reclassified([5.0, 5.0], 0.5, 0.5), None);
    assert_eq!(reclassified([5.0, 5.0], f64::NAN, 1.0), None);
    assert_eq!(unselected_share(1.2, 2.0), None);
    assert_eq!(unselected_share(0.2, 0.0), None);
    assert_eq!(unselected_share(0.0, 2.0), Some(0.0));
    assert_eq!(diluted_excess(&[]), None);
}

/// Between what was recorded and the most that a statement allows: limits hold the ratio under every factor in between.
#[test]
fn limits_up_to_a_factor_hold_those_of_every_factor_below_it() {
    let of = |low: f64, value: f64, high: f64| Estimate {
        value: Some(value),
        low: Some(low),
        high: Some(high),
        level: 0.95,
        n: 100.0,
        events: 20,
        method: "any",
        warnings: Vec::new(),
    };
    for recorded in [of(1.2, 1.9, 3.0), of(0.8, 1.3, 2.1), of(0.3, 0.6, 0.9)] {
        let found = up_to_excess(&recorded, Some(2.5), "stated");
        let [low, high] = [found.low.unwrap(), found.high.unwrap()];
        let under: Vec<Estimate> = [1.0, 1.4, 2.0, 2.5]
            .iter()
            .map(|times| with_excess(&recorded, *times, "each"))
            .collect();
        let lows = under.iter().filter_map(|one| one.low).fold(f64::MAX, f64::min);
        let highs = under.iter().filter_map(|one| one.high).fold(f64::MIN, f64::max);
        assert!((low - lows).abs() < 1e-12 && (high - highs).abs() < 1e-12, "{found:?}");
        assert_eq!(found.value, with_excess(&recorded, 2.5, "each").value);
        let open = up_to_excess(&recorded, None, "stated");
        assert_eq!(open.value, None);
        assert_eq!(open.low, recorded.low.filter(|low| *low >= 1.0));
        assert_eq!(open.high, recorded.high.filter(|high| *high <= 1.0));
    }
}
