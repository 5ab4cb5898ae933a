use crate::stats::reference::close;
use motetrail::stats::PersonTime;
use motetrail::stats::binomial_sum::exact_p;
use motetrail::stats::estimate::Warning;
use motetrail::stats::exact_ratio::exact_ratio;
use motetrail::stats::proportion::clopper_pearson;
use motetrail::stats::tilted::tilted_log;
use proptest::prelude::*;

fn stratum(d1: u64, t1: f64, d0: u64, t0: f64) -> PersonTime {
    PersonTime { d1, t1, d0, t0 }
}

/// One stratum: the limits of Clopper and Pearson of the share of the exposed, as odds over those of time.
#[test]
fn one_stratum_has_the_limits_of_clopper_and_pearson() {
    for (d1, d0) in [(18_u64, 3_u64), (2, 9), (1, 1)] {
        let got = exact_ratio(&[stratum(d1, 30.0, d0, 50.0)], 0.95);
        let share = clopper_pearson(d1 as f64, (d1 + d0) as f64, 0.95);
        let odds = |p: f64| p / (1.0 - p) / 0.6;
        close(got.low.unwrap(), odds(share.low.unwrap()), 1e-7, 0.0);
        close(got.high.unwrap(), odds(share.high.unwrap()), 1e-7, 0.0);
        close(got.value.unwrap(), d1 as f64 / d0 as f64 / 0.6, 1e-7, 0.0);
    }
}

#[test]
fn events_on_one_side_leave_a_limit_on_the_other() {
    let none = exact_ratio(&[stratum(0, 1.0, 5, 1.0)], 0.95);
    assert_eq!((none.value, none.low), (Some(0.0), Some(0.0)));
    close(none.high.unwrap(), 40f64.powf(0.2) - 1.0, 1e-7, 0.0);
    let all = exact_ratio(&[stratum(5, 1.0, 0, 1.0)], 0.95);
    assert_eq!((all.value, all.high), (None, None));
    assert_eq!(all.warnings, [Warning::OneSided]);
    close(all.low.unwrap(), 1.0 / (40f64.powf(0.2) - 1.0), 1e-7, 0.0);
    assert_eq!(exact_ratio(&[], 0.95).warnings, [Warning::NoData]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// It holds 1 wherever the mid-P test, which is less cautious, does not call it different.
    #[test]
    fn limits_are_wider_than_the_mid_p_test_and_hold_the_estimate(
        rows in prop::collection::vec((0_u64..9, 1.0_f64..9.0, 0_u64..9, 1.0_f64..9.0), 1..6),
    ) {
        let strata: Vec<PersonTime> =
            rows.iter().map(|&(d1, t1, d0, t0)| stratum(d1, t1, d0, t0)).collect();
        let got = exact_ratio(&strata, 0.95);
        if let Some(p) = exact_p(&strata) {
            let low = got.low.unwrap();
            let holds = low <= 1.0 && got.high.is_none_or(|high| high >= 1.0);
            prop_assert!(holds || p < 0.05, "{:?} {}", got, p);
            if let Some(value) = got.value.filter(|value| *value > 0.0) {
                prop_assert!(low <= value && value <= got.high.unwrap());
                prop_assert!((value.ln() - tilted_log(&strata, 0.0, 0.0, None)).abs() < 1e-9);
            }
        }
    }
}
