use crate::stats::cases::near;
use motetrail::stats::estimate::Warning;
use motetrail::stats::order_quantile::order_quantile;
use proptest::prelude::*;

fn ranks(n: u64) -> Vec<(f64, u64)> {
    (1..=n).map(|rank| (rank as f64, 1)).collect()
}

/// Ranks between which the median lies with at least 95 %: Nair (1940), Sankhya 4, 551-558 [from memory],
/// checked below against the binomial.
#[test]
fn median_lies_between_the_tabled_ranks() {
    for (n, low, high) in [(6, 1.0, 6.0), (10, 2.0, 9.0), (15, 4.0, 12.0), (20, 6.0, 15.0)] {
        let got = order_quantile(&ranks(n), 0.5, 0.95);
        assert_eq!((got.low, got.high), (Some(low), Some(high)), "{n}");
        assert_eq!(got.warnings, []);
    }
    let five = order_quantile(&ranks(5), 0.5, 0.95);
    assert_eq!((five.low, five.value, five.high), (None, Some(3.0), None));
    assert_eq!(five.warnings, [Warning::OneSided]);
    assert_eq!(order_quantile(&[], 0.5, 0.95).warnings, [Warning::NoData]);
}

#[test]
fn values_that_occur_often_count_as_often_and_even_numbers_meet_half_way() {
    assert_eq!(order_quantile(&[(4.0, 1), (1.0, 2), (2.0, 1)], 0.5, 0.95).value, Some(1.5));
    assert_eq!(order_quantile(&ranks(8), 0.25, 0.95).value, Some(2.5));
    assert_eq!(order_quantile(&ranks(9), 0.25, 0.95).value, Some(3.0));
    let tied = order_quantile(&[(2.0, 40), (7.0, 1)], 0.5, 0.95);
    assert_eq!((tied.low, tied.value, tied.high), (Some(2.0), Some(2.0), Some(2.0)));
}

/// Binomial sums, term by term.
fn below(n: u64, share: f64, rank: u64) -> f64 {
    let mut term = (1.0 - share).powi(n as i32);
    let mut sum = 0.0;
    for k in 0..rank {
        sum += term;
        term *= (n - k) as f64 / (k + 1) as f64 * share / (1.0 - share);
    }
    sum
}

proptest! {
    #[test]
    fn ranks_leave_out_what_the_binomial_says(n in 1_u64..80, share in 0.1_f64..0.9) {
        let got = order_quantile(&ranks(n), share, 0.95);
        // The low end: fewer than r values below it has at most 0.025, fewer than r + 1 has more.
        let low = got.low.map_or(0, |low| low as u64);
        if low < (share * n as f64) as u64 {
            prop_assert!(below(n, share, low) <= 0.025 + 1e-12);
            prop_assert!(below(n, share, low + 1) > 0.025 - 1e-12);
        }
        let high = got.high.map_or(n + 1, |high| high as u64);
        if high > (share * n as f64) as u64 + 1 {
            prop_assert!(1.0 - below(n, share, high) <= 0.025 + 1e-9);
            prop_assert!(1.0 - below(n, share, high - 1) > 0.025 - 1e-9);
        }
    }

    #[test]
    fn order_of_values_is_no_matter(mut values in prop::collection::vec((0.0_f64..9.0, 0_u64..5), 1..20)) {
        let plain = order_quantile(&values, 0.75, 0.9);
        values.reverse();
        values.push((4.0, 0));
        prop_assert_eq!(order_quantile(&values, 0.75, 0.9), plain);
    }
}

/// A million values: ranks from the normal approximation, a rank wider.
#[test]
fn many_values_have_narrow_limits() {
    let got = order_quantile(&[(1.0, 499_000), (2.0, 2_000), (3.0, 499_000)], 0.5, 0.95);
    assert_eq!((got.low, got.value, got.high), (Some(2.0), Some(2.0), Some(2.0)));
    let edge = order_quantile(&[(1.0, 499_100), (2.0, 1_800), (3.0, 499_100)], 0.5, 0.95);
    near(edge.low.unwrap(), 1.0, 0.0, 0.0, "low");
}
