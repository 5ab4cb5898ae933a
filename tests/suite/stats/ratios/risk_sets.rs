//! Risk sets against Cox regressions of R, and against follow-up cut at the event.

use crate::stats::reference::{Table, close, close_to, expected};
use motetrail::stats::risk_sets::{Change, Events, by_stratum, risk_rows};
use motetrail::stats::stratified_poisson::{StratifiedRow, stratified_poisson, summed};
use motetrail::stats::{PersonTime, mantel_haenszel};

/// The rows of a file of subjects: strata and clusters are words there.
fn rows(file: &str) -> Vec<StratifiedRow> {
    let table = Table::read("18_risk_sets", file);
    let number = |words: Vec<String>| -> Vec<u64> {
        let mut known = words.clone();
        known.sort_unstable();
        known.dedup();
        words.iter().map(|word| known.binary_search(word).unwrap() as u64).collect()
    };
    let (strata, clusters) = (number(table.text("stratum")), number(table.text("cluster")));
    let (times, events, exposed) =
        (table.numbers("time"), table.numbers("event"), table.numbers("x"));
    let (mut changes, mut seen) = (Vec::new(), Vec::new());
    for at in 0..strata.len() {
        let (stratum, cluster, exposed) = (strata[at], clusters[at], exposed[at] > 0.0);
        let time = times[at] as u64;
        changes.push(Change { stratum, cluster, exposed, time: 0, subjects: 1 });
        // At risk up to its own time, that included.
        changes.push(Change { stratum, cluster, exposed, time: time + 1, subjects: -1 });
        seen.push(Events { stratum, time, cluster, exposed, events: events[at] as u64 });
    }
    risk_rows(changes, seen)
}

#[test]
fn strata_of_few_match_cox_regression_with_efrons_ties_and_its_errors_by_cluster() {
    for case in ["hr_small_strata_rare", "hr_small_strata_frequent", "hr_by_hand_six_pairs"] {
        let want = &expected("18_risk_sets", case)["efron"];
        let rows = rows(&format!("{case}.csv"));
        let got = stratified_poisson(&rows, 0.95);
        close_to(got.log_ratio, &want["log_hr"], 1e-7, 1e-9);
        close_to(got.model_se, &want["se"], 1e-7, 1e-9);
        // R's has no factor for few clusters.
        let clusters = got.clusters as f64;
        let plain = got.robust_se.unwrap() * ((clusters - 1.0) / clusters).sqrt();
        close_to(Some(plain), &want["robust_se"], 1e-6, 1e-9);
    }
}

/// Events of one time are one event each to whatever works with events, and as many of either side as there were.
#[test]
fn tied_events_are_whole_events_of_their_sides() {
    let rows = rows("hr_small_strata_frequent.csv");
    let events = summed(&rows);
    assert!(events.iter().all(|event| event.d1 + event.d0 == 1));
    let table = Table::read("18_risk_sets", "hr_small_strata_frequent.csv");
    let exposed: f64 =
        table.numbers("event").iter().zip(table.numbers("x")).map(|(event, x)| event * x).sum();
    assert_eq!(events.iter().map(|event| event.d1).sum::<u64>(), exposed as u64);
    let want = &expected("18_risk_sets", "hr_small_strata_frequent");
    assert_eq!(Some(events.len() as u64), want["events"].as_u64());
    let strata = by_stratum(&rows);
    assert_eq!(strata.concat(), events);
    // Mantel-Haenszel over the same risk sets is about the same; over time cut at the event it is 2.21, and 1.67 if kept.
    let common = mantel_haenszel(&events, 0.95).ratio.value.unwrap();
    let cox = want["efron"]["hr"].as_f64().unwrap();
    assert!((common / cox).ln().abs() < 0.05, "{common} {cox}");
}

/// By hand: of two exposed and three others two have their event at once, one of each side: 2 and 3 are at risk for the
/// first, 1.5 and 2.5 for the second.
#[test]
fn one_of_those_who_have_their_event_at_once_goes_before_the_other() {
    let change = |exposed, subjects| Change { stratum: 7, cluster: 1, exposed, time: 3, subjects };
    let event = |exposed| Events { stratum: 7, time: 9, cluster: 1, exposed, events: 1 };
    let got = risk_rows(vec![change(true, 2), change(false, 3)], vec![event(true), event(false)]);
    let times: Vec<f64> = got.iter().map(|row| row.time).collect();
    assert_eq!(times, [3.0, 2.0, 2.5, 1.5]);
    assert!(got.iter().all(|row| row.events == 0.5));
    // Who joins later is not at risk.
    let late = Change { time: 10, ..change(true, 5) };
    let more =
        risk_rows(vec![change(true, 2), change(false, 3), late], vec![event(true), event(false)]);
    assert_eq!(got, more);
    close(stratified_poisson(&got, 0.95).ratio.value.unwrap(), 1.5811, 2e-4, 0.0);
}

/// Pairs, each mating a cluster of its own, and one event a pair, by hand at a ratio of 1: the score of an event is a half,
/// and the squares of both clusters' scores add up to its square, a quarter a pair, which is what chance leaves.
#[test]
fn scores_of_clusters_lose_nothing_where_strata_are_pairs() {
    let (mut changes, mut events) = (Vec::new(), Vec::new());
    for pair in 0..12 {
        for exposed in [true, false] {
            let cluster = 2 * pair + u64::from(exposed);
            changes.push(Change { stratum: pair, cluster, exposed, time: 0, subjects: 1 });
        }
        let exposed = pair % 2 == 0;
        let cluster = 2 * pair + u64::from(exposed);
        events.push(Events { stratum: pair, time: 5, cluster, exposed, events: 1 });
    }
    let fit = stratified_poisson(&risk_rows(changes, events), 0.95);
    close(fit.log_ratio.unwrap(), 0.0, 0.0, 1e-9);
    close(fit.dispersion.unwrap(), 1.0, 1e-9, 0.0);
    close(fit.model_se.unwrap(), (1.0_f64 / 3.0).sqrt(), 1e-9, 0.0);
}

/// A thousand events of one time are sixteen strata, and as many of each side as there were.
#[test]
fn many_events_at_once_are_put_together() {
    let change = |exposed| Change { stratum: 1, cluster: 1, exposed, time: 0, subjects: 5000 };
    let event = |exposed, events| Events { stratum: 1, time: 2, cluster: 1, exposed, events };
    let rows =
        risk_rows(vec![change(true), change(false)], vec![event(true, 700), event(false, 300)]);
    let events = summed(&rows);
    assert_eq!(events.len(), 16);
    let sum = |of: fn(&PersonTime) -> u64| events.iter().map(of).sum::<u64>();
    assert_eq!((sum(|event| event.d1), sum(|event| event.d0)), (700, 300));
}
