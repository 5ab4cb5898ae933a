use crate::stats::reference::close;
use motetrail::stats::PersonTime;
use motetrail::stats::homogeneity::{self, Homogeneity};

fn stratum(d1: u64, t1: f64, d0: u64, t0: f64) -> PersonTime {
    PersonTime { d1, t1, d0, t0 }
}

/// Each stratum one binomial.
fn homogeneity(strata: &[PersonTime]) -> Option<Homogeneity> {
    let strata: Vec<Vec<PersonTime>> = strata.iter().map(|stratum| vec![*stratum]).collect();
    homogeneity::homogeneity(&strata)
}

/// All tables with these margins, by hand: two strata of three events and equal time, three exposed in all.
/// C(3, k) C(3, 3 - k) = 1, 9, 9, 1 of 20 for k = 0 to 3. Expected 1.5 each: squares 4.5 for k of 0 or 3, else 0.5.
#[test]
fn p_is_the_share_of_the_tables_that_could_have_been() {
    let table = |k: u64| [stratum(k, 1.0, 3 - k, 1.0), stratum(3 - k, 1.0, k, 1.0)];
    let apart = homogeneity(&table(3)).unwrap();
    // 2 of 20 are as far apart, by half; Monte Carlo error of 999 tables is 0.007.
    close(apart.p, 0.05, 0.0, 0.02);
    close(homogeneity(&table(1)).unwrap().p, 0.1 + 0.45, 0.0, 0.04);
    let expected = 0.1 * 4.5 + 0.9 * 0.5;
    close(apart.excess, 4.5 / expected, 0.07, 0.0);
    assert_eq!(apart.strata, 2);
    assert_eq!(homogeneity(&table(3)), homogeneity(&table(3)));
}

#[test]
fn strata_that_say_nothing_and_one_sided_events_are_no_test() {
    assert_eq!(homogeneity(&[stratum(3, 1.0, 2, 1.0)]), None);
    assert_eq!(homogeneity(&[stratum(3, 1.0, 0, 1.0), stratum(2, 1.0, 0, 1.0)]), None);
    let both = [stratum(3, 1.0, 1, 1.0), stratum(1, 1.0, 4, 1.0)];
    let more = [both[0], both[1], stratum(0, 1.0, 0, 1.0), stratum(4, 1.0, 0, 0.0)];
    assert_eq!(homogeneity(&both), homogeneity(&more));
}

/// Beyond a million events times exposed events the gamma tail stands for the tables: both sides of that
/// line agree.
#[test]
fn many_events_have_the_tail_of_the_moments() {
    let strata = |events: u64, apart: u64| -> Vec<PersonTime> {
        let even = events / 2;
        (0..20)
            .map(|i| {
                let own = if i % 2 == 0 { even + apart } else { even - apart };
                stratum(own, 1.0, events - own, 1.0)
            })
            .collect()
    };
    // Gaps of one standard deviation each: a chi-square of 20 on 19 degrees of freedom, upper tail 0.395.
    let drawn = homogeneity(&strata(64, 4)).unwrap().p;
    let by_moments = homogeneity(&strata(10_000, 50)).unwrap().p;
    close(drawn, 0.395, 0.0, 0.05);
    close(by_moments, 0.395, 0.0, 0.02);
    assert!(homogeneity(&strata(10_000, 150)).unwrap().p < 1e-9);
}

/// A stratum is the same whether its events are told one by one or together.
#[test]
fn events_told_one_by_one_are_the_same_stratum() {
    let together = [stratum(3, 1.0, 1, 1.0), stratum(1, 1.0, 4, 1.0)];
    let one_by_one = |whole: &PersonTime| -> Vec<PersonTime> {
        let event = |d1, d0| PersonTime { d1, d0, ..*whole };
        (0..whole.d1).map(|_| event(1, 0)).chain((0..whole.d0).map(|_| event(0, 1))).collect()
    };
    let apart: Vec<Vec<PersonTime>> = together.iter().map(one_by_one).collect();
    let (got, want) = (homogeneity::homogeneity(&apart).unwrap(), homogeneity(&together).unwrap());
    close(got.p, want.p, 1e-12, 0.0);
    close(got.excess, want.excess, 1e-9, 0.0);
    assert_eq!(got.strata, 2);
}
