//! The mean cumulative function from counts, against published curves and against the units one by one.

use crate::stats::cases::{case, near};
use crate::stats::reference::Table;
use motetrail::stats::grouped_recurrence::{GroupedHistories, grouped_mean_cumulative};
use proptest::prelude::*;
use serde_json::json;
use std::collections::BTreeMap;

const GROUP: &str = "09_repairable";

/// One unit: the age at which its watch ended, and the ages at its events.
#[derive(Clone, Debug, Default)]
struct History {
    end: u32,
    events: Vec<u32>,
}

fn histories(file: &str) -> Vec<History> {
    let rows = Table::read(GROUP, file).rows(&["id", "time", "status"]);
    let mut units: BTreeMap<u64, History> = BTreeMap::new();
    for row in rows {
        let unit = units.entry(row[0] as u64).or_default();
        assert_eq!(row[1].fract(), 0.0, "{file}: counts need whole ages");
        unit.end = unit.end.max(row[1] as u32);
        if row[2] == 1.0 {
            unit.events.push(row[1] as u32);
        }
    }
    units.into_values().collect()
}

/// Counts of histories; events after a unit's end do not count.
fn grouped(units: &[History]) -> GroupedHistories {
    let mut ended: BTreeMap<u32, u64> = BTreeMap::new();
    let mut events: BTreeMap<(u32, u32), u64> = BTreeMap::new();
    let mut pairs: BTreeMap<(u32, u32), u64> = BTreeMap::new();
    for unit in units {
        *ended.entry(unit.end).or_default() += 1;
        let inside = || unit.events.iter().filter(|age| **age <= unit.end);
        for age in inside() {
            *events.entry((*age, unit.end)).or_default() += 1;
            for other in inside() {
                *pairs.entry((*age, *other)).or_default() += 1;
            }
        }
    }
    let three = |map: BTreeMap<(u32, u32), u64>| {
        map.into_iter().map(|((a, b), count)| (a, b, count)).collect()
    };
    GroupedHistories {
        ended: ended.into_iter().collect(),
        events: three(events),
        pairs: three(pairs),
    }
}

fn mean_cumulative_matches(id: &str) {
    let case = case(GROUP, id);
    let counts = grouped(&histories(&format!("{id}.csv")));
    let curve = grouped_mean_cumulative(&counts, 1.0, 0.95);
    let data = Table::read(GROUP, &format!("{id}_expected.csv"));
    assert_eq!(data.numbers("time").len(), curve.len());
    for (i, point) in curve.iter().enumerate() {
        let want = |column: &str| json!(data.numbers(column)[i]);
        assert_eq!(json!(point.age), want("time"));
        assert_eq!(json!(point.at_risk as f64), want("at_risk"));
        assert_eq!(json!(point.events as f64), want("events"));
        case.near(point.mean.value.unwrap(), &want("mcf"), "mean");
        case.near(point.variance, &want("var_lawless_nadeau"), "variance");
        case.near(point.mean.low.unwrap(), &want("log_lower"), "low");
        case.near(point.mean.high.unwrap(), &want("log_upper"), "high");
    }
    assert_eq!(json!(curve.last().unwrap().mean.events), case.expected["n_events"]);
}

#[test]
fn mean_cumulative_matches_nelson_and_doganaksoy_1989_valve_seats() {
    mean_cumulative_matches("valve_seat");
}

#[test]
fn mean_cumulative_matches_fleming_and_harrington_1991_placebo_arm() {
    mean_cumulative_matches("cgd_placebo");
}

#[test]
fn mean_cumulative_matches_reference_with_ties_and_event_at_the_end() {
    mean_cumulative_matches("mcf_edges");
}

#[test]
fn units_that_resemble_each_other_widen_the_interval_of_the_mean() {
    let counts = grouped(&histories("valve_seat.csv"));
    let (plain, wide) =
        (grouped_mean_cumulative(&counts, 1.0, 0.95), grouped_mean_cumulative(&counts, 4.0, 0.95));
    for (plain, wide) in plain.iter().zip(&wide) {
        near(wide.variance, 4.0 * plain.variance, 0.0, 1e-12, "variance");
        assert!(wide.mean.low < plain.mean.low && wide.mean.value == plain.mean.value);
    }
}

fn history() -> impl Strategy<Value = History> {
    (0_u32..12, prop::collection::vec(0_u32..12, 0..6))
        .prop_map(|(end, events)| History { end, events })
}

/// A second formulation: every unit's contribution on its own, summed at each age. The mean and its
/// variance.
fn by_unit(units: &[History], age: u32) -> (f64, f64) {
    let mut ages: Vec<u32> =
        units.iter().flat_map(|u| u.events.iter().copied().filter(|t| *t <= u.end)).collect();
    ages.sort_unstable();
    ages.dedup();
    ages.retain(|t| *t <= age);
    let at =
        |u: &History, t: u32| u.events.iter().filter(|x| **x == t && t <= u.end).count() as f64;
    let watched = |t: u32| units.iter().filter(|v| v.end >= t).count() as f64;
    let mean = |t: u32| units.iter().map(|v| at(v, t)).sum::<f64>() / watched(t);
    let of = |u: &History| -> f64 {
        let steps = ages.iter().filter(|t| **t <= u.end);
        steps.map(|t| (at(u, *t) - mean(*t)) / watched(*t)).sum()
    };
    (ages.iter().map(|t| mean(*t)).sum(), units.iter().map(|u| of(u).powi(2)).sum())
}

proptest! {
    #[test]
    fn counts_and_units_say_the_same(units in prop::collection::vec(history(), 0..12)) {
        for point in grouped_mean_cumulative(&grouped(&units), 1.0, 0.95) {
            let (mean, variance) = by_unit(&units, point.age as u32);
            near(point.mean.value.unwrap(), mean, 1e-12, 1e-10, "mean");
            near(point.variance, variance, 1e-12, 1e-8, "variance");
            let e = &point.mean;
            prop_assert!(e.low <= e.value && e.value <= e.high);
        }
    }

    #[test]
    fn empty_cells_and_splits_change_no_recurrence(units in prop::collection::vec(history(), 1..9)) {
        let whole = grouped(&units);
        let mut other = whole.clone();
        other.ended.reverse();
        other.events.push((3, 5, 0));
        other.pairs.push((2, 9, 0));
        let split: Vec<(u32, u64)> =
            other.ended.iter().flat_map(|(age, n)| [(*age, n / 2), (*age, n - n / 2)]).collect();
        other.ended = split;
        let (a, b) =
            (grouped_mean_cumulative(&whole, 1.0, 0.9), grouped_mean_cumulative(&other, 1.0, 0.9));
        for (a, b) in a.iter().zip(&b) {
            prop_assert_eq!((a.age, a.at_risk, a.events), (b.age, b.at_risk, b.events));
            near(a.variance, b.variance, 1e-12, 1e-9, "variance");
        }
    }
}
