//! Trends and recurrences from counts, against the same from single events.

use super::cases::{case, near};
use super::recurrence::histories;
use super::reference::Table;
use motetrail::stats::estimate::Warning;
use motetrail::stats::grouped_recurrence::{GroupedHistories, grouped_mean_cumulative};
use motetrail::stats::grouped_trend::{Spell, grouped_laplace, grouped_power_law, scatter_about};
use motetrail::stats::power_law::{Watch, laplace, power_law};
use motetrail::stats::recurrence::{History, mean_cumulative};
use proptest::prelude::*;
use std::collections::BTreeMap;

fn spells(counts: &[u64], exposure: f64) -> Vec<Spell> {
    counts.iter().map(|events| Spell { events: *events, exposure }).collect()
}

/// MIL-HDBK-189 (1981), appendix C, grouped data: 13, 16, 5, 8 and 7 failures in five spells of 20
/// hours; growth 0.753 [from memory], scale 49 / 100^growth = 1.53.
const HANDBOOK: [u64; 5] = [13, 16, 5, 8, 7];

#[test]
fn growth_from_counts_is_that_of_the_handbooks_grouped_example() {
    let fit = grouped_power_law(&spells(&HANDBOOK, 20.0), 1.0, 0.95);
    near(fit.value.unwrap(), 0.753, 5e-4, 0.0, "growth");
    near(49.0 / 100_f64.powf(fit.value.unwrap()), 1.53, 5e-3, 0.0, "scale");
}

/// `sum d ln(to^b - from^b)`, as it is written.
fn log_likelihood(counts: &[u64], growth: f64) -> f64 {
    let spells = counts.len() as f64;
    let at = |edge: usize| (edge as f64 / spells).powf(growth);
    (0..counts.len()).map(|k| counts[k] as f64 * (at(k + 1) - at(k)).ln()).sum()
}

#[test]
fn limits_of_growth_lie_where_the_likelihood_has_fallen_by_its_cut() {
    let level = |growth: f64| log_likelihood(&HANDBOOK, growth);
    for phi in [1.0, 2.5] {
        let fit = grouped_power_law(&spells(&HANDBOOK, 20.0), phi, 0.95);
        let top = level(fit.value.unwrap());
        let cut = 0.5 * phi * 1.959_963_984_540_054_f64.powi(2);
        for limit in [fit.low, fit.high] {
            near(top - level(limit.unwrap()), cut, 1e-6, 0.0, "fall");
        }
        // No better growth on a grid.
        assert!((1..400).all(|k| level(f64::from(k) * 0.01) <= top + 1e-9));
    }
}

/// In spells so short that each holds one event at most, counts say what ages say.
#[test]
fn short_spells_say_what_single_ages_say() {
    let ages = Table::read("09_repairable", "nist_power_law.csv").numbers("failure_time");
    let want = case("09_repairable", "nist_power_law");
    let (count, end) = (150_000, 1500.0);
    let mut counts = vec![0_u64; count];
    for age in &ages {
        counts[((age / end * count as f64).ceil() as usize).saturating_sub(1)] += 1;
    }
    let spells = spells(&counts, end / count as f64);
    let test = grouped_laplace(&spells, 1.0).unwrap();
    near(test.u, want.expected["laplace_u"].as_f64().unwrap(), 1e-4, 0.0, "u");
    near(test.u, laplace(&ages, Watch::Until(end)).unwrap().u, 1e-4, 0.0, "u");
    let growth = grouped_power_law(&spells, 1.0, 0.95).value.unwrap();
    near(growth, want.expected["mle_beta"].as_f64().unwrap(), 1e-3, 0.0, "growth");
    near(
        growth,
        power_law(&ages, Watch::Until(end), 0.95).shape.value.unwrap(),
        1e-3,
        0.0,
        "growth",
    );
}

/// Laplace by hand: middles 0.25 and 0.75 of two equal spells, 2 and 6 events: (6 - 2) / 4 over the
/// root of 8 / 16; with twice the scatter over the root of 2 more.
#[test]
fn trend_of_two_spells_by_hand() {
    let test = grouped_laplace(&spells(&[2, 6], 5.0), 1.0).unwrap();
    near(test.u, 1.0 / 0.5_f64.sqrt(), 1e-12, 0.0, "u");
    let wide = grouped_laplace(&spells(&[2, 6], 5.0), 2.0).unwrap();
    near(wide.u, 1.0, 1e-12, 0.0, "u");
    // Growth: 2 of 8 in the first half is 0.5^2.
    near(
        grouped_power_law(&spells(&[2, 6], 5.0), 1.0, 0.95).value.unwrap(),
        2.0,
        1e-9,
        0.0,
        "growth",
    );
}

#[test]
fn events_at_one_end_only_leave_a_limit() {
    let first = grouped_power_law(&spells(&[5, 0, 0], 1.0), 1.0, 0.95);
    assert_eq!((first.value, first.low), (Some(0.0), Some(0.0)));
    // 5 growth ln 3 = half the cut.
    let cut = 0.5 * 1.959_963_984_540_054_f64.powi(2);
    near(first.high.unwrap(), cut / (5.0 * 3_f64.ln()), 1e-9, 0.0, "high");
    let last = grouped_power_law(&spells(&[0, 0, 5], 1.0), 1.0, 0.95);
    assert_eq!((last.value, last.high, last.warnings), (None, None, vec![Warning::OneSided]));
    // (1 - (2/3)^growth)^5 = exp(-cut).
    let low = last.low.unwrap();
    near(5.0 * (1.0 - (2_f64 / 3.0).powf(low)).ln(), -cut, 1e-8, 0.0, "low");
    for none in [vec![], spells(&[3], 1.0), spells(&[0, 0], 1.0)] {
        assert_eq!(grouped_laplace(&none, 1.0), None);
        assert_eq!(grouped_power_law(&none, 1.0, 0.95).warnings, [Warning::NoData]);
    }
}

/// 2 and 6 of four spells in pairs: about a growth of 1 each expects 2: (4 + 4 + 0 + 0) / 2 over 2.
#[test]
fn scatter_about_a_trend_is_pearsons() {
    near(scatter_about(&spells(&[0, 4, 2, 2], 3.0), 1.0).unwrap(), 2.0, 1e-12, 0.0, "scatter");
    assert_eq!(scatter_about(&spells(&[1, 2], 3.0), 1.0), None);
}

/// Counts of histories whose ages are whole.
fn grouped(units: &[History]) -> GroupedHistories {
    let mut ended: BTreeMap<u32, u64> = BTreeMap::new();
    let mut events: BTreeMap<(u32, u32), u64> = BTreeMap::new();
    let mut pairs: BTreeMap<(u32, u32), u64> = BTreeMap::new();
    for unit in units {
        let end = unit.end as u32;
        *ended.entry(end).or_default() += 1;
        let own: Vec<u32> =
            unit.events.iter().filter(|age| **age <= unit.end).map(|age| *age as u32).collect();
        for age in &own {
            *events.entry((*age, end)).or_default() += 1;
            for other in &own {
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

#[track_caller]
fn counts_say_the_same(units: &[History]) {
    let (single, counted) =
        (mean_cumulative(units, 0.95), grouped_mean_cumulative(&grouped(units), 1.0, 0.95));
    assert_eq!(single.len(), counted.len());
    for (a, b) in single.iter().zip(&counted) {
        assert_eq!((a.age, a.at_risk, a.events), (b.age, b.at_risk, b.events));
        assert_eq!((a.mean.n, a.mean.events), (b.mean.n, b.mean.events));
        near(a.mean.value.unwrap(), b.mean.value.unwrap(), 1e-12, 1e-10, "mean");
        near(a.variance, b.variance, 1e-12, 1e-8, "variance");
        near(a.mean.low.unwrap(), b.mean.low.unwrap(), 1e-9, 1e-6, "low");
    }
}

/// Against the cases of `recurrence`, whose expected values come from outside.
#[test]
fn mean_cumulative_from_counts_is_that_of_the_reference_units() {
    for file in ["valve_seat.csv", "cgd_placebo.csv", "mcf_edges.csv"] {
        let units = histories(file);
        let whole = |x: &f64| x.fract() == 0.0;
        assert!(units.iter().all(|u| whole(&u.end) && u.events.iter().all(&whole)), "{file}");
        counts_say_the_same(&units);
    }
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
    (0_u8..12, prop::collection::vec(0_u8..12, 0..5)).prop_map(|(end, ages)| History {
        end: end.into(),
        events: ages.into_iter().map(f64::from).collect(),
    })
}

proptest! {
    #[test]
    fn counts_and_units_say_the_same(units in prop::collection::vec(history(), 0..12)) {
        counts_say_the_same(&units);
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

    #[test]
    fn another_unit_of_exposure_changes_no_trend(
        rows in prop::collection::vec((0_u64..20, 0.5_f64..9.0), 2..9), unit in 1e-6_f64..1e9,
    ) {
        let of = |unit: f64| -> Vec<Spell> {
            rows.iter().map(|(events, exposure)| Spell { events: *events, exposure: exposure * unit }).collect()
        };
        let (a, b) = (grouped_power_law(&of(1.0), 1.3, 0.9), grouped_power_law(&of(unit), 1.3, 0.9));
        if let (Some(a), Some(b)) = (a.value, b.value) {
            near(a, b, 1e-12, 1e-7, "growth");
        }
        prop_assert!(a.low <= a.value || a.value.is_none());
        let (a, b) = (grouped_laplace(&of(1.0), 1.3), grouped_laplace(&of(unit), 1.3));
        if let (Some(a), Some(b)) = (a, b) {
            near(a.u, b.u, 1e-9, 1e-9, "u");
        }
    }
}
