//! The exact test of a common ratio of 1.

use crate::stats::reference::{Table, close, expected};
use motetrail::stats::binomial_sum::{exact_p, successes};
use motetrail::stats::{PersonTime, mantel_haenszel};

#[test]
fn sums_of_trials_match_r_poissonbinomial() {
    for case in ["poisbinom", "poisbinom_edges"] {
        let trials = Table::read("13_trend_exact", &format!("{case}.csv")).numbers("p");
        let want = expected("13_trend_exact", case);
        let points = successes(trials);
        let pmf = want["pmf"].as_array().unwrap();
        assert_eq!(points.len(), pmf.len());
        for (got, want) in points.iter().zip(pmf) {
            close(*got, want.as_f64().unwrap(), 1e-9, 1e-15);
        }
    }
}

/// Three events, all exposed, in strata with a third of the time exposed: the upper tail is
/// (1/3)^3 / 2, doubled.
#[test]
fn a_few_events_on_one_side_have_their_exact_p() {
    let stratum = PersonTime { d1: 1, t1: 1.0, d0: 0, t0: 2.0 };
    close(exact_p(&[stratum; 3]).unwrap(), 1.0 / 27.0, 1e-12, 0.0);
    let uninformative = PersonTime { d1: 5, t1: 1.0, d0: 0, t0: 0.0 };
    assert_eq!(exact_p(&[uninformative]), None);
    close(exact_p(&[stratum, uninformative, stratum, stratum]).unwrap(), 1.0 / 27.0, 1e-12, 0.0);
}

/// Where events are many the score test says nearly the same; beyond the limit it is the score test.
#[test]
fn many_events_agree_with_the_score_test() {
    let strata: Vec<PersonTime> =
        (0..20).map(|i| PersonTime { d1: 9 + i % 4, t1: 1.0, d0: 11 - i % 3, t0: 1.2 }).collect();
    let score = mantel_haenszel(&strata, 0.95).test.p;
    close(exact_p(&strata).unwrap(), score, 0.05, 0.0);
    let many: Vec<PersonTime> =
        strata.iter().map(|s| PersonTime { d1: s.d1 * 100, d0: s.d0 * 100, ..*s }).collect();
    assert_eq!(exact_p(&many), Some(mantel_haenszel(&many, 0.95).test.p));
}
