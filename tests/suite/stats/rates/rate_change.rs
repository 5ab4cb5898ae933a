use crate::stats::extremes::{amount, count, level, sound};
use crate::stats::reference::{close, close_to, expected};
use motetrail::stats::estimate::Warning;
use motetrail::stats::rate::rate_ratio;
use motetrail::stats::rate_change::Exposed;
use motetrail::stats::rate_change::{CountScatter, rate_change};
use proptest::prelude::*;

fn units(rows: &[(u64, f64)]) -> Vec<Exposed> {
    rows.iter().map(|&(events, exposure)| Exposed { events, exposure }).collect()
}

#[test]
fn without_scatter_it_is_the_exact_conditional_interval_of_rothman_and_greenland_1998() {
    let want = expected("02_poisson_rates", "rate_ratio_fluoroscopy");
    let mut two_sided = 0;
    for row in want["rows"].as_array().unwrap() {
        let number = |name: &str| row[name].as_f64().unwrap();
        let (d1, d0) = (number("x1") as u64, number("x0") as u64);
        let now = (d1, number("t1"));
        let got = rate_change(now, (d0, number("t0")), &CountScatter::default(), number("conf"));
        close_to(got.p, &row["p_midp_twice_min"], 1e-8, 1e-12);
        if d1 > 0 && d0 > 0 {
            two_sided += 1;
            close_to(got.ratio.value, &row["rate_ratio"], 1e-8, 1e-12);
            close_to(got.ratio.low, &row["midp_lower"], 1e-8, 1e-12);
            close_to(got.ratio.high, &row["midp_upper"], 1e-8, 1e-12);
        }
    }
    assert!(two_sided > 0);
}

/// Five events before and none now, over the same time: half of the chance that all five lie before,
/// at a ratio r, is (1 + r)^-5 / 2; it is 0.025 at r = 20^(1/5) - 1.
#[test]
fn no_events_on_a_side_leave_half_of_the_one_point_in_the_tail() {
    let none = CountScatter::default();
    let got = rate_change((0, 7.0), (5, 7.0), &none, 0.95).ratio;
    assert_eq!((got.value, got.low), (Some(0.0), Some(0.0)));
    close(got.high.unwrap(), 20f64.powf(0.2) - 1.0, 1e-12, 0.0);
    let got = rate_change((5, 7.0), (0, 7.0), &none, 0.95).ratio;
    assert_eq!((got.value, got.high), (None, None));
    close(got.low.unwrap(), 1.0 / (20f64.powf(0.2) - 1.0), 1e-12, 0.0);
    // Twice that half is the p value: all five on one of two equal sides.
    close(rate_change((0, 7.0), (5, 7.0), &none, 0.95).p, 1.0 / 32.0, 1e-9, 0.0);
}

/// By hand: counts 0 and 4 over equal time are 2 off what is expected, twice: 8 against 4 x 1/2 x 1/2
/// x 2 = 2 of Poisson counts. Over times 1 and 3, counts 2 and 2 are 1 off: 2 against 4 x 1/4 x 3/4 x 2.
#[test]
fn scatter_is_squared_gaps_over_those_of_chance() {
    let even = CountScatter::of(&[units(&[(0, 5.0), (4, 5.0)])]);
    close(even.phi().unwrap(), 4.0, 1e-12, 0.0);
    let uneven = CountScatter::of(&[units(&[(2, 1.0), (2, 3.0)])]);
    close(uneven.phi().unwrap(), 2.0 / 1.5, 1e-12, 0.0);
    let both = CountScatter::of(&[units(&[(0, 5.0), (4, 5.0)]), units(&[(2, 1.0), (2, 3.0)])]);
    close(both.phi().unwrap(), 10.0 / 3.5, 1e-12, 0.0);
    close(even.with(uneven).phi().unwrap(), 10.0 / 3.5, 1e-12, 0.0);
    // Strata without events and units without exposure say nothing of scatter.
    let more = [units(&[(0, 5.0), (4, 5.0), (9, 0.0)]), units(&[(0, 8.0), (0, 8.0)])];
    close(CountScatter::of(&more).phi().unwrap(), 4.0, 1e-12, 0.0);
    assert_eq!(CountScatter::of(&more).units, 4);
    assert_eq!(CountScatter::of(&[units(&[(7, 2.0)])]).phi(), None);
}

/// A stratum of many events leads: its scatter is most of the total's variance.
#[test]
fn strata_count_by_their_events() {
    let many = units(&[(40, 1.0), (80, 1.0)]);
    let few = units(&[(1, 1.0), (1, 1.0)]);
    let phi = CountScatter::of(&[many.clone(), few]).phi().unwrap();
    // 2 x 20^2 against 60 of chance, then 0 against 1.
    close(phi, 800.0 / 61.0, 1e-12, 0.0);
    assert!(phi < CountScatter::of(&[many]).phi().unwrap());
}

#[test]
fn scatter_widens_the_interval_and_less_than_chance_does_not_narrow_it() {
    let plain = rate_change((40, 10.0), (30, 10.0), &CountScatter::default(), 0.95).ratio;
    let scattered = CountScatter::of(&[units(&[(0, 1.0), (20, 1.0), (0, 1.0), (20, 1.0)])]);
    let wide = rate_change((40, 10.0), (30, 10.0), &scattered, 0.95).ratio;
    assert!(wide.low < plain.low && wide.high > plain.high);
    close(wide.value.unwrap(), plain.value.unwrap(), 1e-9, 0.0);
    let alike = CountScatter::of(&[units(&[(10, 1.0); 400])]);
    assert_eq!(alike.phi(), Some(0.0));
    assert_eq!(rate_change((40, 10.0), (30, 10.0), &alike, 0.95).ratio, plain);
}

#[test]
fn no_events_or_no_exposure_say_nothing() {
    for (now, before) in [((0, 5.0), (0, 5.0)), ((3, 0.0), (2, 5.0)), ((3, 5.0), (2, f64::NAN))] {
        let got = rate_change(now, before, &CountScatter::default(), 0.95);
        assert_eq!((got.ratio.value, got.ratio.low, got.ratio.high), (None, None, None));
        assert_eq!((got.ratio.warnings, got.p), (vec![Warning::NoData], 1.0));
    }
}

fn strata() -> impl Strategy<Value = Vec<Vec<Exposed>>> {
    let unit =
        (0_u64..12, 0.1..5.0_f64).prop_map(|(events, exposure)| Exposed { events, exposure });
    prop::collection::vec(prop::collection::vec(unit, 0..14), 0..5)
}

proptest! {
    #[test]
    fn p_agrees_with_the_interval(
        now in (0_u64..80, 0.5..9.0_f64), before in (0_u64..80, 0.5..9.0_f64), strata in strata(),
    ) {
        let scatter = CountScatter::of(&strata);
        let got = rate_change(now, before, &scatter, 0.95);
        let above = got.ratio.low.is_some_and(|low| low > 1.0);
        let below = got.ratio.high.is_some_and(|high| high < 1.0);
        // At the very limit both are right.
        if (got.p - 0.05).abs() > 1e-6 {
            prop_assert_eq!(above || below, got.p < 0.05, "{:?}", got);
        }
    }

    #[test]
    fn swapping_quarters_turns_the_ratio_over(
        now in (1_u64..80, 0.5..9.0_f64), before in (1_u64..80, 0.5..9.0_f64), strata in strata(),
    ) {
        let scatter = CountScatter::of(&strata);
        let (ab, ba) =
            (rate_change(now, before, &scatter, 0.95), rate_change(before, now, &scatter, 0.95));
        prop_assert!((ab.ratio.low.unwrap() * ba.ratio.high.unwrap() - 1.0).abs() < 1e-8);
        prop_assert!((ab.p - ba.p).abs() < 1e-8 * ab.p.max(1e-3));
    }

    #[test]
    fn any_split_by_strata_gives_the_same_phi(all in strata(), cut in 0_usize..5) {
        let (left, right) = all.split_at(cut.min(all.len()));
        let split = CountScatter::of(left).with(CountScatter::of(right));
        let (whole, split) = (CountScatter::of(&all).phi(), split.phi());
        prop_assert_eq!(whole.is_some(), split.is_some());
        prop_assert!(whole.zip(split).is_none_or(|(a, b)| (a - b).abs() < 1e-9 * (1.0 + a)));
    }

    #[test]
    fn changes_of_rates_are_sound(
        (d1, t1, d0, t0) in (count(), amount(), count(), amount()),
        rows in prop::collection::vec((count(), amount()), 0..6), level in level(),
    ) {
        let scatter = CountScatter::of(&[units(&rows)]);
        let got = rate_change((d1, t1), (d0, t0), &scatter, level);
        prop_assert!(sound(&got.ratio), "{:?}", got);
        prop_assert!((0.0..=1.0).contains(&got.p) && scatter.phi().is_none_or(f64::is_finite));
        // Poisson counts have nothing to widen.
        let plain = rate_change((d1, t1), (d0, t0), &CountScatter::default(), 0.95);
        let known = rate_ratio(d1, t1, d0, t0, 0.95);
        prop_assert!((plain.p - known.p).abs() < 1e-6 + 1e-6 * known.p, "{} {}", plain.p, known.p);
    }
}
