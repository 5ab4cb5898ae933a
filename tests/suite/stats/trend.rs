use super::cases::{case, near};
use super::reference::Table;
use motetrail::stats::trend::{Scored, cochran_armitage};
use proptest::prelude::*;

/// Fleiss (1981), p. 139: smokers among lung cancer patients; R's prop.trend.test.
#[test]
fn trend_matches_fleiss_1981_smokers() {
    let case = case("13_trend_exact", "ca_smokers");
    let data = Table::read("13_trend_exact", "ca_smokers.csv");
    let groups: Vec<Scored> = data
        .rows(&["score", "n", "events"])
        .iter()
        .map(|row| Scored { score: row[0], n: row[1] as u64, events: row[2] as u64 })
        .collect();
    let got = cochran_armitage(&groups).unwrap();
    case.near(got.z, &case.expected["z"], "z");
    case.near(got.z * got.z, &case.expected["chi2"], "chi-square");
    case.near(got.p, &case.expected["p_two_sided"], "p");
    assert!(got.slope < 0.0);
}

/// Constructed groups with uneven scores; statsmodels.
#[test]
fn trend_matches_statsmodels_with_uneven_scores() {
    let inputs = super::reference::case("16_libraries", "trend_uneven_scores")["inputs"].clone();
    let column = |name: &str| inputs[name].as_array().unwrap().clone();
    let rows = column("score").into_iter().zip(column("n")).zip(column("events"));
    let groups: Vec<Scored> = rows
        .map(|((score, n), events)| Scored {
            score: score.as_f64().unwrap(),
            n: n.as_u64().unwrap(),
            events: events.as_u64().unwrap(),
        })
        .collect();
    let case = case("16_libraries", "trend_uneven_scores");
    case.near(cochran_armitage(&groups).unwrap().z, &case.expected["z"], "z");
}

/// Closed form: with two groups the test is the score test of two shares.
#[test]
fn two_groups_give_the_score_test_and_the_difference() {
    let groups =
        [Scored { score: 0.0, events: 5, n: 20 }, Scored { score: 1.0, events: 12, n: 30 }];
    let got = cochran_armitage(&groups).unwrap();
    let p: f64 = 17.0 / 50.0;
    near(got.slope, 0.4 - 0.25, 1e-12, 0.0, "difference");
    near(got.z, 0.15 / (p * (1.0 - p) * (1.0 / 20.0 + 1.0 / 30.0)).sqrt(), 1e-12, 0.0, "z");
}

#[test]
fn nothing_varying_is_no_trend() {
    let group = |score, events| Scored { score, events, n: 10 };
    assert_eq!(cochran_armitage(&[]), None);
    assert_eq!(cochran_armitage(&[group(0.1, 3), group(0.1, 9)]), None);
    assert_eq!(cochran_armitage(&[group(1.0, 0), group(2.0, 0)]), None);
    assert_eq!(cochran_armitage(&[group(f64::NAN, 1), group(2.0, 3)]), None);
}

proptest! {
    #[test]
    fn shifted_and_stretched_scores_change_no_z(
        groups in prop::collection::vec((0_u64..30, prop_oneof![0_u64..30, Just(1_000_000_000_000)]), 2..7), shift in -50.0_f64..50.0,
    ) {
        let build = |f: &dyn Fn(f64) -> f64| -> Vec<Scored> {
            groups.iter().enumerate().map(|(i, g)| Scored { score: f(i as f64), events: g.0, n: g.0 + g.1 }).collect()
        };
        let (plain, moved) = (cochran_armitage(&build(&|x| x)), cochran_armitage(&build(&|x| 3.0 * x + shift)));
        prop_assert_eq!(plain.is_some(), moved.is_some());
        if let (Some(a), Some(b)) = (plain, moved) {
            prop_assert!(a.z.is_finite() && (0.0..=1.0).contains(&a.p));
            near(a.z, b.z, 1e-6, 1e-6, "z");
        }
    }
}
