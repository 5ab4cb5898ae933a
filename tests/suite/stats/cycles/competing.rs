use crate::stats::reference::{Table, close};
use motetrail::stats::competing::{Median, Step, aalen_johansen};
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

proptest! {
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
