//! Trends from counts, against published ones of single events.

use crate::stats::cases::{case, near};
use crate::stats::reference::Table;
use motetrail::stats::estimate::Warning;
use motetrail::stats::grouped_trend::{Spell, grouped_laplace, grouped_power_law, scatter_about};
use proptest::prelude::*;

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

/// Spells so short that counts say what ages say: each age stands in the middle of its own. Ages are
/// multiples of `step`, which is cut into `parts`, an odd number.
fn around(ages: &[f64], end: f64, step: f64, parts: u32) -> Vec<Spell> {
    let width = step / f64::from(parts);
    let place = |age: f64| (age / width).round() as usize;
    let last = place(end);
    let exposure = |at: usize| if at == 0 || at == last { width / 2.0 } else { width };
    let mut spells: Vec<Spell> =
        (0..=last).map(|at| Spell { events: 0, exposure: exposure(at) }).collect();
    ages.iter().for_each(|age| spells[place(*age)].events += 1);
    spells
}

/// The handbook's test and growth of exact ages; `step` as for [`around`].
fn trend_matches(id: &str, step: f64, parts: u32) {
    let case = case("09_repairable", id);
    let mut ages = Table::read("09_repairable", &format!("{id}.csv")).numbers("failure_time");
    let end = case.expected["T"].as_f64().unwrap();
    let failures = ages.len() as f64;
    if case.expected["failure_truncated"].as_bool().unwrap() {
        // The failure that ended the watch says nothing of the trend.
        ages.pop();
    }
    let spells = around(&ages, end, step, parts);
    let test = grouped_laplace(&spells, 1.0).unwrap();
    case.near(test.u, &case.expected["laplace_u"], "u");
    case.near(test.p, &case.expected["laplace_p_two_sided"], "p");
    let growth = grouped_power_law(&spells, 1.0, 0.95).value.unwrap();
    // The handbook counts that failure in its estimate all the same.
    case.near(growth * failures / ages.len() as f64, &case.expected["mle_beta"], "growth");
}

#[test]
fn trend_matches_nist_handbook_ten_failures_until_1500_hours() {
    trend_matches("nist_power_law", 1.0, 301);
}

#[test]
fn trend_matches_developmental_test_ended_by_its_last_failure() {
    trend_matches("crow_developmental_test", 0.1, 51);
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

proptest! {
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
