use crate::stats::cases::{case, near};
use crate::stats::reference::Table;
use motetrail::stats::p_prime::p_prime;
use proptest::prelude::*;
use serde_json::json;

fn matches_reference(id: &str) {
    let case = case("08_control_charts", id);
    let data = Table::read("08_control_charts", &format!("{id}_expected.csv"));
    let samples: Vec<(u64, u64)> = data.counts("x").into_iter().zip(data.counts("n")).collect();
    let chart = p_prime(&samples);
    case.near(chart.centre.unwrap(), &case.expected["p_bar"], "centre");
    case.near(chart.sigma_z.unwrap(), &case.expected["sigma_z"], "sigma z");
    let points: Vec<_> = chart.points.iter().flatten().collect();
    assert_eq!(points.len(), samples.len());
    for (i, point) in points.iter().enumerate() {
        let want = |column: &str| json!(data.numbers(column)[i]);
        case.near(point.share, &want("p"), "p");
        case.near(point.z, &want("z"), "z");
        case.near(point.binomial.0, &want("lcl"), "lcl");
        case.near(point.binomial.1, &want("ucl"), "ucl");
        case.near(point.prime.0, &want("laney_lcl"), "laney lcl");
        case.near(point.prime.1, &want("laney_ucl"), "laney ucl");
        near(point.z_prime, point.z / chart.sigma_z.unwrap(), 1e-12, 0.0, "z prime");
    }
    let out = |which: &dyn Fn(usize) -> bool| {
        (1..=points.len()).filter(|i| which(i - 1)).collect::<Vec<_>>()
    };
    let beyond =
        |i: usize, limits: (f64, f64)| points[i].share < limits.0 || points[i].share > limits.1;
    assert_eq!(json!(out(&|i| beyond(i, points[i].binomial))), case.expected["points_out_p"]);
    assert_eq!(json!(out(&|i| beyond(i, points[i].prime))), case.expected["points_out_laney"]);
}

#[test]
fn p_chart_matches_montgomery_orange_juice_cans() {
    matches_reference("p_orangejuice");
}

#[test]
fn p_prime_matches_reference_with_varying_sizes() {
    matches_reference("p_varying_overdispersed");
}

#[test]
fn p_prime_matches_reference_with_almost_no_events() {
    matches_reference("p_zero_events");
}

#[test]
fn nothing_varying_leaves_the_limits_of_the_p_chart() {
    let chart = p_prime(&[(0, 10), (0, 20), (0, 0)]);
    assert_eq!((chart.centre, chart.sigma_z), (Some(0.0), None));
    assert_eq!(chart.points[0].unwrap().prime, (0.0, 0.0));
    assert_eq!(chart.points[2], None);
    assert_eq!(p_prime(&[(0, 0)]).centre, None);
    assert_eq!(p_prime(&[]).points, []);
}

proptest! {
    #[test]
    fn limits_are_ordered_and_finite_and_empty_samples_change_nothing(
        mut samples in prop::collection::vec((prop_oneof![0_u64..9, Just(1_000_000_000_000)], 0_u64..99), 1..12),
    ) {
        let chart = p_prime(&samples);
        for p in chart.points.iter().flatten() {
            prop_assert!(p.binomial.0 <= p.binomial.1 && p.prime.0 <= p.prime.1);
            prop_assert!([p.share, p.z, p.z_prime, p.prime.0, p.prime.1].iter().all(|x| x.is_finite()));
        }
        samples.insert(samples.len() / 2, (0, 0));
        let longer = p_prime(&samples);
        prop_assert_eq!(chart.sigma_z, longer.sigma_z);
        let seen = |c: &motetrail::stats::p_prime::PChart| c.points.iter().copied().flatten().collect::<Vec<_>>();
        prop_assert_eq!(seen(&chart), seen(&longer));
    }
}
