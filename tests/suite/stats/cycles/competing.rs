use crate::stats::reference::{Table, close};
use motetrail::stats::clustered::{ClusterSums, effective_share};
use motetrail::stats::competing::{Median, Step, aalen_johansen, aalen_johansen_clustered};
use motetrail::stats::estimate::Warning;
use motetrail::stats::proportion::wilson;
use proptest::prelude::*;
use std::collections::BTreeMap;

/// Steps at the distinct times of a group.
fn steps(time: &[f64], status: &[f64], pick: impl Fn(usize) -> bool) -> (Vec<u64>, Vec<Step>) {
    let mut steps: BTreeMap<u64, Step> = BTreeMap::new();
    for i in (0..time.len()).filter(|&i| pick(i)) {
        let step = steps.entry(time[i] as u64).or_default();
        step.competing.resize(1, 0);
        match status[i] as u64 {
            0 => step.censored += 1,
            1 => step.events += 1,
            _ => step.competing[0] += 1,
        }
    }
    steps.into_iter().unzip()
}

#[test]
fn incidence_and_standard_errors_match_r_survival_on_mgus() {
    let data = Table::read("04_survival", "cif_mgus.csv");
    let (time, status, group) = (data.numbers("time"), data.numbers("status"), data.text("group"));
    let want = Table::read("04_survival", "cif_mgus_aj_expected.csv");
    let column = |name: &str| want.numbers(name);
    let (cif1, cif2, se1, se2) = (column("cif1"), column("cif2"), column("se1"), column("se2"));
    let (want_group, want_time) = (want.text("group"), column("time"));
    for name in ["F", "M"] {
        let (times, steps) = steps(&time, &status, |i| group[i] == name);
        let got = aalen_johansen(&steps, 0.95);
        let mut rows = 0;
        for i in (0..cif1.len()).filter(|&i| want_group[i] == format!("group={name}")) {
            let at = times.iter().position(|&t| t as f64 == want_time[i]).unwrap();
            let row = &got.rows[at];
            close(row.event.value.unwrap(), cif1[i], 0.0, 1e-9);
            close(row.competing[0].value.unwrap(), cif2[i], 0.0, 1e-9);
            // Same variance as there, so much closer than the case's own 1e-3.
            close(row.event_se, se1[i], 0.0, 1e-9);
            close(row.competing_se[0], se2[i], 0.0, 1e-9);
            rows += 1;
        }
        assert!(rows > 100, "{rows} rows");
    }
}

#[test]
fn without_competing_events_incidence_is_one_minus_kaplan_meier_with_greenwood() {
    // Freireich et al. (1963), 6-MP arm, as in Klein & Moeschberger (2003), table 4.1A.
    let data = Table::read("04_survival", "gehan.csv");
    let want = Table::read("04_survival", "gehan_km_expected.csv");
    let arm = data.text("treat");
    let (times, steps) = steps(&data.numbers("time"), &data.numbers("event"), |i| arm[i] == "6-MP");
    let got = aalen_johansen(&steps, 0.95);
    let mut rows = 0;
    for (i, group) in want.text("group").iter().enumerate() {
        if !group.contains("6-MP") {
            continue;
        }
        let at = times.iter().position(|&t| t as f64 == want.numbers("time")[i]).unwrap();
        close(got.rows[at].survival, want.numbers("surv")[i], 1e-9, 1e-9);
        close(got.rows[at].event.value.unwrap(), 1.0 - want.numbers("surv")[i], 1e-9, 1e-9);
        close(got.rows[at].event_se, want.numbers("greenwood_se_surv")[i], 1e-9, 1e-9);
        rows += 1;
    }
    assert!(rows > 5);
}

#[test]
fn two_times_by_hand() {
    // 10 at risk: 2 events, 1 competing, 1 censored; then 6: 3 events, 3 censored.
    let steps = [
        Step { events: 2, competing: vec![1], censored: 1 },
        Step { events: 3, competing: vec![], censored: 3 },
    ];
    let got = aalen_johansen(&steps, 0.95);
    assert_eq!((got.rows[0].at_risk, got.rows[1].at_risk), (10, 6));
    close(got.rows[0].event.value.unwrap(), 0.2, 1e-12, 0.0);
    close(got.rows[1].event.value.unwrap(), 0.2 + 0.7 * 0.5, 1e-12, 0.0);
    close(got.rows[1].competing[0].value.unwrap(), 0.1, 1e-12, 0.0);
    close(got.rows[1].survival, 0.35, 1e-12, 0.0);
    // First time: the multinomial variance p q / n.
    close(got.rows[0].event_se, (0.2_f64 * 0.8 / 10.0).sqrt(), 1e-12, 0.0);
    assert_eq!(got.rows[1].hazard, wilson(3.0, 6.0, 0.95));
    assert_eq!(got.median.value, Some(1));
}

#[test]
fn the_median_is_missing_until_half_have_had_the_event() {
    let step = |events, censored| Step { events, competing: vec![], censored };
    let got = aalen_johansen(&[step(30, 0), step(10, 60)], 0.95).median;
    assert_eq!(got, Median { value: None, low: None, high: None });
    let got = aalen_johansen(&[step(45, 0), step(30, 0), step(20, 5)], 0.95).median;
    assert_eq!(got, Median { value: Some(1), low: Some(0), high: Some(1) });
}

#[test]
fn no_units_say_so_and_no_events_have_an_exact_limit() {
    let got = aalen_johansen(&[Step::default()], 0.95);
    assert_eq!(got.rows[0].event.warnings, [Warning::NoData]);
    assert_eq!(got.median, Median { value: None, low: None, high: None });
    assert!(aalen_johansen(&[], 0.95).rows.is_empty());
    let got = aalen_johansen(&[Step { events: 0, competing: vec![], censored: 20 }], 0.95);
    // Clopper & Pearson (1934) limit of 0 of 20: 1 - 0.025^(1/20) = 0.1684.
    close(got.rows[0].event.high.unwrap(), 0.1684, 0.0, 5e-5);
}

/// The step of one unit: at `time`, by `how` it left (0 censored, 1 the event, 2 the competing one).
fn unit(time: usize, how: u64, times: usize) -> Vec<Step> {
    let mut steps = vec![Step { competing: vec![0], ..Step::default() }; times];
    match how {
        0 => steps[time].censored = 1,
        1 => steps[time].events = 1,
        _ => steps[time].competing[0] = 1,
    }
    steps
}

#[test]
fn one_unit_a_cluster_has_the_standard_errors_of_r_survival_on_mgus() {
    let data = Table::read("04_survival", "cif_mgus.csv");
    let (time, status, group) = (data.numbers("time"), data.numbers("status"), data.text("group"));
    let of_group: Vec<usize> = (0..time.len()).filter(|&i| group[i] == "F").collect();
    let (times, steps) = steps(&time, &status, |i| group[i] == "F");
    let alone = aalen_johansen(&steps, 0.95);
    let clusters: Vec<Vec<Step>> = of_group
        .iter()
        .map(|&i| {
            let at = times.iter().position(|&t| t == time[i] as u64).unwrap();
            unit(at, status[i] as u64, times.len())
        })
        .collect();
    let got = aalen_johansen_clustered(&clusters, 0.95);
    let m = clusters.len() as f64;
    for (one, row) in alone.rows.iter().zip(&got.rows) {
        assert_eq!((one.event.value, one.at_risk), (row.event.value, row.at_risk));
        close(row.event_se, one.event_se * (m / (m - 1.0)).sqrt(), 0.0, 1e-9);
        close(row.competing_se[0], one.competing_se[0] * (m / (m - 1.0)).sqrt(), 0.0, 1e-9);
        assert!(row.event.low <= one.event.low && row.event.high >= one.event.high);
    }
}

#[test]
fn units_that_always_share_their_fate_tell_as_much_as_one_of_them() {
    // Twelve fates, and each of them five times over in a cluster of five.
    let fates = [
        (0, 1),
        (0, 1),
        (1, 1),
        (0, 2),
        (2, 1),
        (1, 0),
        (1, 2),
        (2, 0),
        (0, 1),
        (2, 1),
        (1, 1),
        (0, 0),
    ];
    let of = |times: u64| {
        let many = |(time, how): (usize, u64)| {
            let mut steps = unit(time, how, 3);
            for step in &mut steps {
                step.events *= times;
                step.competing[0] *= times;
                step.censored *= times;
            }
            steps
        };
        let clusters: Vec<Vec<Step>> = fates.iter().copied().map(many).collect();
        aalen_johansen_clustered(&clusters, 0.95)
    };
    let (one, five) = (of(1), of(5));
    for (one, five) in one.rows.iter().zip(&five.rows) {
        close(one.event_se, five.event_se, 0.0, 1e-9);
        close(one.event.low.unwrap(), five.event.low.unwrap(), 0.0, 1e-9);
        assert_eq!(five.event.n, 5.0 * one.event.n);
    }
}

#[test]
fn at_the_first_time_the_error_is_that_of_a_clustered_share_and_hazards_are_too() {
    let step = |events, left| vec![Step { events, competing: vec![0], censored: left }];
    let clusters = [step(5, 1), step(0, 4), step(3, 3), step(1, 6), step(4, 0)];
    let row = &aalen_johansen_clustered(&clusters, 0.95).rows[0];
    let mut sums = ClusterSums::default();
    for (events, n) in [(5, 6), (0, 4), (3, 6), (1, 7), (4, 4)] {
        sums.add(n, events);
    }
    assert_eq!(row.hazard, effective_share(&sums, 0.95));
    // By hand: p = 13/27; sum of (y - p n)^2 = 4.4568 + 3.7092 + 0.0123 + 5.6187 + 4.3018 = 18.0988;
    // times 5/4, over 27^2.
    close(row.event_se, (18.098_8_f64 * 1.25 / 729.0).sqrt(), 0.0, 1e-5);
}

proptest! {
    /// Any clusters: the order is no matter, and limits are never within those of independent units.
    #[test]
    fn clusters_never_narrow_and_their_order_is_no_matter(
        rows in prop::collection::vec(
            prop::collection::vec((0_u64..4, 0_u64..4, 0_u64..4), 1..5), 1..12),
    ) {
        let of = |rows: &[Vec<(u64, u64, u64)>]| -> Vec<Vec<Step>> {
            let step = |&(events, a, censored): &_| Step { events, competing: vec![a], censored };
            rows.iter().map(|own| own.iter().map(step).collect()).collect()
        };
        let clusters = of(&rows);
        let times = rows.iter().map(Vec::len).max().unwrap();
        let mut all = vec![Step { competing: vec![0], ..Step::default() }; times];
        for step in clusters.iter().flat_map(|own| own.iter().enumerate()) {
            all[step.0].events += step.1.events;
            all[step.0].competing[0] += step.1.competing[0];
            all[step.0].censored += step.1.censored;
        }
        let (alone, got) = (aalen_johansen(&all, 0.95), aalen_johansen_clustered(&clusters, 0.95));
        let turned: Vec<Vec<Step>> = clusters.iter().rev().cloned().collect();
        let turned = aalen_johansen_clustered(&turned, 0.95);
        for ((one, row), other) in alone.rows.iter().zip(&got.rows).zip(&turned.rows) {
            prop_assert_eq!(one.event.value, row.event.value);
            prop_assert!(row.event_se >= one.event_se * (1.0 - 1e-12));
            prop_assert!(row.event.low <= one.event.low && row.event.high >= one.event.high);
            prop_assert!(row.hazard.low <= one.hazard.low.map(|low| low + 1e-12));
            prop_assert!((row.event_se - other.event_se).abs() <= 1e-12 * row.event_se.max(1e-3));
        }
    }

    #[test]
    fn parts_sum_to_one_and_lie_in_their_intervals(
        rows in prop::collection::vec((0_u64..9, 0_u64..9, 0_u64..9, 0_u64..9), 1..20),
    ) {
        let steps: Vec<Step> = rows.iter()
            .map(|&(events, a, b, censored)| Step { events, competing: vec![a, b], censored })
            .collect();
        let got = aalen_johansen(&steps, 0.95);
        for row in got.rows.iter().filter(|row| row.event.value.is_some()) {
            let parts = row.competing.iter().chain([&row.event]);
            let sum: f64 = parts.clone().map(|e| e.value.unwrap()).sum();
            prop_assert!((sum + row.survival - 1.0).abs() < 1e-9);
            for e in parts {
                prop_assert!(e.low <= e.value && e.value <= e.high);
                prop_assert!(e.low >= Some(0.0) && e.high <= Some(1.0));
            }
        }
    }
}
