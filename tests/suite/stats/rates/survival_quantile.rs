//! Quantiles of times of which some are only known to be longer.

use crate::stats::reference::{Table, close};
use motetrail::stats::estimate::Warning;
use motetrail::stats::order_quantile::order_quantile;
use motetrail::stats::survival_quantile::{Lasted, restricted_mean, survival_quantile};

/// Remissions under 6-MP: times, how many ended and how many were last seen then.
fn remissions(group: &str) -> Vec<Lasted> {
    let table = Table::read("04_survival", "gehan_km_expected.csv");
    let (groups, times) = (table.text("group"), table.numbers("time"));
    let (ended, open) = (table.numbers("n_event"), table.numbers("n_censor"));
    let own = (0..times.len()).filter(|at| groups[*at] == group);
    own.map(|at| Lasted { time: times[at], ended: ended[at] as u64, open: open[at] as u64 })
        .collect()
}

/// Freireich and others (1963) as Kaplan-Meier curves by R's survfit with limits on the log(-log) scale: the curve falls to
/// .448 at 23, its lower limit to .432 at 13, its upper one never to a half. A quarter: .690 at 13, .620 at 6, .747 at 22.
#[test]
fn quantiles_are_where_rs_curve_and_its_limits_cross_the_share() {
    let times = remissions("treat=6-MP");
    let median = survival_quantile(&times, 0.5, 0.95);
    assert_eq!((median.value, median.low, median.high), (Some(23.0), Some(13.0), None));
    assert_eq!((median.n, median.events), (21.0, 9));
    assert_eq!(median.warnings, [Warning::OneSided]);
    let quarter = survival_quantile(&times, 0.25, 0.95);
    assert_eq!((quarter.value, quarter.low, quarter.high), (Some(13.0), Some(6.0), Some(22.0)));
    // Three quarters are not seen to end; the lower limit of the curve falls to .188 at 23.
    let most = survival_quantile(&times, 0.75, 0.95);
    assert_eq!((most.value, most.low, most.high), (None, Some(23.0), None));
}

/// Of the controls all are seen to the end: the area under their curve is the mean of their times. With one more still open
/// at every time it is longer.
#[test]
fn the_mean_of_times_that_are_all_known_is_their_mean() {
    let times = remissions("treat=control");
    let sum: f64 = times.iter().map(|lasted| lasted.time * lasted.ended as f64).sum();
    close(restricted_mean(&times).unwrap(), sum / 21.0, 1e-12, 0.0);
    let longer: Vec<Lasted> = times.iter().map(|lasted| Lasted { open: 1, ..*lasted }).collect();
    assert!(restricted_mean(&longer).unwrap() > sum / 21.0);
    assert_eq!(restricted_mean(&[]), None);
}

/// Without any that is still open it is the sample's quantile.
#[test]
fn where_all_have_ended_it_is_the_samples_quantile() {
    let values: Vec<(f64, u64)> = (1..=40).map(|value| (f64::from(value * value), 1)).collect();
    let times: Vec<Lasted> =
        values.iter().map(|(time, ended)| Lasted { time: *time, ended: *ended, open: 0 }).collect();
    for share in [0.25, 0.5, 0.75] {
        let (got, want) =
            (survival_quantile(&times, share, 0.95), order_quantile(&values, share, 0.95));
        close(got.value.unwrap(), want.value.unwrap(), 1e-12, 0.0);
    }
    assert_eq!(survival_quantile(&[], 0.5, 0.95).warnings, [Warning::NoData]);
}
