//! A broken series against two libraries, and against the counts that it would have had.

use motetrail::stats::effects::interrupted::{columns, interrupted};
use motetrail::stats::poisson_regression::{PoissonData, poisson_regression};

use crate::stats::cases::case;
use crate::stats::reference::Table;

const GROUP: &str = "20_did";

#[test]
fn a_fleet_of_36_months_is_as_two_libraries_have_it() {
    let table = Table::read(GROUP, "its_fleet_36_months.csv");
    let (events, exposure) = (table.numbers("y"), table.numbers("exposure"));
    let start = table.numbers("level").iter().position(|level| *level == 1.0).unwrap();
    let case = case(GROUP, "its_fleet_36_months");
    let want = &case.expected;
    let lag = want["lag"].as_u64().unwrap() as usize;
    let fit = interrupted(&events, &exposure, start, (lag, Some(0))).unwrap().unwrap();
    for at in 0..4 {
        case.near(fit.coefficients[at], &want["coef"][at], "coefficient");
        case.near(fit.model[at][at].sqrt(), &want["se_model"][at], "standard error");
        case.near(fit.correlated[at][at].sqrt(), &want["se_newey_west"][at], "with correlation");
    }
    case.near(fit.dispersion, &want["dispersion"], "dispersion");
    let names = ["time", "level", "slope"];
    for (column, name) in columns(36, start, 0)[1..].iter().zip(names) {
        assert_eq!(column, &table.numbers(name), "{name}");
    }
}

/// The same fit with the break's columns written out for one time each cannot be; but without the break the events expected
/// are those of a fit that knows the months before alone, where the slope after is free.
#[test]
fn what_would_have_been_is_the_line_of_the_months_before() {
    let before: Vec<f64> = (0..12).map(|time| (50.0 + f64::from(time)).round()).collect();
    let after = [30.0, 28.0, 33.0, 31.0, 29.0, 30.0];
    let events: Vec<f64> = before.iter().chain(&after).copied().collect();
    let exposure = vec![1_000.0; 18];
    let fit = interrupted(&events, &exposure, 12, (3, Some(0))).unwrap().unwrap();
    let offset = vec![1_000.0_f64.ln(); 12];
    let line = columns(12, 12, 0)[..2].to_vec();
    let alone = poisson_regression(&PoissonData {
        events: &before,
        columns: &line,
        offset: &offset,
        clusters: None,
    })
    .unwrap();
    let at =
        |time: f64| 1_000.0 * (alone.coefficients[0] + alone.coefficients[1] * (time + 1.0)).exp();
    let without: f64 = (12..18).map(|time| at(f64::from(time))).sum();
    assert!((fit.without / without - 1.0).abs() < 1e-8);
    assert_eq!(fit.observed, after.iter().sum::<f64>());
    let [low, ratio, high] = fit.ratio(0.95);
    assert!((ratio - fit.observed / without).abs() < 1e-8);
    assert!(low < ratio && ratio < high);
    // Delta method by small steps: the log ratio moves by the gradient times a step of a coefficient.
    let se = fit.log_ratio.1;
    assert!(se > 0.0 && se.is_finite());
}

#[test]
fn a_series_too_short_on_either_side_says_nothing() {
    let events = vec![5.0; 12];
    for start in [0, 3, 9, 12, 40] {
        assert_eq!(interrupted(&events, &[1.0; 12], start, (3, None)), Ok(None), "{start}");
    }
    assert!(interrupted(&events, &[1.0; 12], 8, (3, None)).unwrap().is_some());
}
