//! Plans through two points against a search, other programs and worked solutions; operating characteristics.

use motetrail::stats::sampling::plan::{Demand, Plan, lot_plan, stream_plan};
use proptest::prelude::*;
use serde_json::Value;

use crate::stats::cases::case;
use crate::stats::digits::second_way;
use crate::stats::reference::{Table, case as found};

const GROUP: &str = "21_acceptance";

#[test]
fn plans_through_two_points_are_as_other_programs_have_them() {
    let case = case(GROUP, "plans_two_points");
    let rows = Table::read(GROUP, "plans_two_points_expected.csv").rows(&[
        "p0",
        "p1",
        "alpha",
        "beta",
        "n",
        "c",
        "accept_at_p0",
        "accept_at_p1",
    ]);
    assert_eq!(rows.len(), 8);
    for row in rows {
        let [good, bad, false_alarm, missed, n, c, at_good, at_bad] = row[..] else { panic!() };
        let plan = stream_plan(&Demand { good, bad, false_alarm, missed }, 100_000).unwrap();
        case.near(plan.sample as f64, &Value::from(n), "sample");
        case.near(plan.accept as f64, &Value::from(c), "accepted");
        case.near(plan.silent(good), &Value::from(at_good), "silent at the good share");
        case.near(plan.silent(bad), &Value::from(at_bad), "silent at the bad share");
    }
}

#[test]
fn operating_characteristics_are_as_worked_solutions_have_them() {
    let case = case(GROUP, "oc_single");
    let rows =
        Table::read(GROUP, "oc_single_expected.csv").rows(&["n", "c", "p", "accept_binomial"]);
    for row in &rows {
        let plan = Plan { sample: row[0] as u64, accept: row[1] as u64 };
        case.near(plan.silent(row[2]), &Value::from(row[3]), "silent");
    }
    let printed = found(GROUP, "oc_single")["published"].as_array().unwrap().clone();
    assert_eq!(printed.len(), 5);
    second_way();
    for (at, printed) in printed.iter().enumerate() {
        let want: f64 = printed["printed"].as_str().unwrap().parse().unwrap();
        let share = (at + 1) as f64 / 100.0;
        let found = Plan { sample: 89, accept: 2 }.silent(share);
        assert!((found - want).abs() < 1e-5, "{share}: {found} {want}");
    }
}

/// The smallest sample for which any number accepted holds both risks, one after the other; chances by the recursion of the
/// binomial's points.
fn searched(demand: &Demand, most: u64) -> Option<Plan> {
    let at_most = |accept: u64, sample: u64, share: f64| {
        let mut point = (1.0 - share).powi(sample as i32);
        let mut sum = point;
        for k in 0..accept {
            point *= (sample - k) as f64 / (k + 1) as f64 * share / (1.0 - share);
            sum += point;
        }
        sum
    };
    (1..=most).find_map(|sample| {
        let holds = |accept: &u64| {
            at_most(*accept, sample, demand.good) >= 1.0 - demand.false_alarm
                && at_most(*accept, sample, demand.bad) <= demand.missed
        };
        (0..sample).find(holds).map(|accept| Plan { sample, accept })
    })
}

/// Bad ones of every sample of a lot, by multiplying out the fractions left.
fn lot_at_most(plan: &Plan, lot: u64, bad: u64) -> f64 {
    // Chances of so many bad ones after each draw.
    let mut chances = vec![1.0];
    for drawn in 0..plan.sample {
        let mut next = vec![0.0; chances.len() + 1];
        for (had, chance) in chances.iter().enumerate() {
            let (had_u, left) = (had as u64, (lot - drawn) as f64);
            let draws_bad = bad.saturating_sub(had_u) as f64 / left;
            next[had + 1] += chance * draws_bad;
            next[had] += chance * (1.0 - draws_bad);
        }
        chances = next;
    }
    chances.iter().take(plan.accept as usize + 1).sum()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]
    #[test]
    fn a_plan_is_the_smallest_of_a_search(
        good in 0.001_f64..0.2, more in 0.03_f64..0.5, false_alarm in 0.02_f64..0.2, missed in 0.02_f64..0.2,
    ) {
        let demand = Demand { good, bad: good + more, false_alarm, missed };
        prop_assert_eq!(stream_plan(&demand, 250), searched(&demand, 250));
    }

    #[test]
    fn a_lot_s_plan_is_the_smallest_of_a_search(
        lot in 5_u64..60, good in 0.0_f64..0.3, more in 0.05_f64..0.6,
    ) {
        let demand = Demand { good, bad: (good + more).min(1.0), false_alarm: 0.1, missed: 0.1 };
        let at = |share: f64| share * lot as f64;
        let (few, many) = ((at(demand.good) + 1e-9).floor() as u64, (at(demand.bad) - 1e-9).ceil() as u64);
        let holds = |plan: &Plan| {
            lot_at_most(plan, lot, few) >= 0.9 - 1e-12 && lot_at_most(plan, lot, many) <= 0.1 + 1e-12
        };
        let all = (1..lot).flat_map(|sample| (0..sample).map(move |accept| Plan { sample, accept }));
        let searched = if many > few { all.into_iter().find(holds) } else { None };
        prop_assert_eq!(lot_plan(&demand, lot).map(|plan| plan.sample), searched.map(|plan| plan.sample));
        if let Some(plan) = lot_plan(&demand, lot) {
            prop_assert!(holds(&plan));
            prop_assert!((plan.silent_in_lot(lot, many) - lot_at_most(&plan, lot, many)).abs() < 1e-12);
        }
    }
}

#[test]
fn what_is_no_demand_has_no_plan() {
    let demand = Demand { good: 0.1, bad: 0.3, false_alarm: 0.1, missed: 0.1 };
    assert!(stream_plan(&demand, 1_000).is_some());
    for (good, bad) in
        [(0.3, 0.3), (0.4, 0.3), (f64::NAN, 0.3), (0.1, f64::NAN), (0.1, 1.5), (-0.1, 0.3)]
    {
        let demand = Demand { good, bad, ..demand };
        assert_eq!(stream_plan(&demand, 1_000), None, "{good} {bad}");
        assert_eq!(lot_plan(&demand, 100), None, "{good} {bad}");
    }
    // No room: the smallest plan is larger than what may be looked at.
    let small = stream_plan(&demand, 1_000).unwrap();
    assert_eq!(stream_plan(&demand, small.sample - 1), None);
    assert_eq!(stream_plan(&demand, small.sample), Some(small));
    assert_eq!(stream_plan(&demand, 0), None);
}

#[test]
fn a_lot_needs_no_more_than_a_stream() {
    let demand = Demand { good: 0.02, bad: 0.2, false_alarm: 0.1, missed: 0.1 };
    let stream = stream_plan(&demand, 10_000).unwrap();
    let large = lot_plan(&demand, 1_000_000).unwrap();
    assert_eq!(large, stream);
    assert!(lot_plan(&demand, 100).unwrap().sample <= stream.sample);
}
