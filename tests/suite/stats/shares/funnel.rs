use crate::stats::cases::near;
use motetrail::stats::funnel::funnel;
use proptest::prelude::*;

/// Worked by hand: 20 units of 100 trials around one half. Standard deviation 0.05, so z = (p -
/// 0.5) / 0.05; the two lowest and two highest are pulled in to the third. A tenth winsorised at
/// either end leaves 0.6786546 of a standard normal's mean square: with c = 1.2815516 and density
/// 0.1754983 there, 0.2 x 1.6423744 + 0.8 - 2 x 1.2815516 x 0.1754983.
#[test]
fn over_dispersion_is_the_mean_square_of_winsorised_distances() {
    let events = [10.0, 20.0, 40.0, 45.0, 45.0, 45.0, 50.0, 50.0, 50.0, 50.0];
    let mut units: Vec<(f64, f64)> = events.iter().map(|y| (*y, 100.0)).collect();
    units.extend(events.iter().map(|y| (100.0 - y, 100.0)));
    let funnel = funnel(&units).unwrap();
    near(funnel.centre, 0.5, 1e-12, 0.0, "centre");
    near(funnel.z[0].unwrap(), -8.0, 1e-12, 0.0, "z");
    // Either side: three at 2, three at 1, four at 0.
    let phi: f64 = (2.0 * (3.0 * 4.0 + 3.0 * 1.0)) / 20.0 / 0.6786546;
    near(funnel.phi, phi, 1e-6, 0.0, "phi");
    let limits = funnel.limits(100.0, 0.95);
    near(limits.high, 0.5 + 1.959963984540054 * phi.sqrt() * 0.05, 1e-6, 0.0, "limit");
    near(funnel.adjusted(0).unwrap(), -8.0 / phi.sqrt(), 1e-6, 0.0, "adjusted");
}

#[test]
fn less_scatter_than_chance_leaves_the_binomial_limits() {
    let funnel = funnel(&[(50.0, 100.0), (51.0, 100.0), (0.0, 0.0)]).unwrap();
    assert_eq!(funnel.phi, 1.0);
    assert_eq!(funnel.z[2], None);
}

#[test]
fn no_trials_make_no_funnel() {
    assert_eq!(funnel(&[]), None);
    assert_eq!(funnel(&[(0.0, 0.0)]), None);
}

/// A share whose spread is no number any more is no outlier.
#[test]
fn next_to_no_events_of_many_leave_every_unit_at_the_centre() {
    let funnel = funnel(&[(1e-300, 1e12); 12]).unwrap();
    assert!(funnel.z.iter().all(|z| *z == Some(0.0)) && funnel.phi >= 1.0);
    let limits = funnel.limits(1e12, 0.95);
    assert!(limits.low <= funnel.centre && funnel.centre <= limits.high);
}

proptest! {
    #[test]
    fn limits_hold_the_centre_and_narrow_with_size(
        units in prop::collection::vec((0.0_f64..50.0, prop_oneof![0.0_f64..99.0, Just(1e12)]), 1..25),
        n in 1.0_f64..1e12,
    ) {
        if let Some(f) = funnel(&units) {
            let (wide, narrow) = (f.limits(n, 0.95), f.limits(2.0 * n, 0.95));
            prop_assert!(f.phi.is_finite() && f.phi >= 1.0);
            prop_assert!(wide.low <= narrow.low && narrow.low <= f.centre);
            prop_assert!(f.centre <= narrow.high && narrow.high <= wide.high);
            prop_assert_eq!((f.limits(0.0, 0.95).low, f.limits(0.0, 0.95).high), (0.0, 1.0));
        }
    }

    #[test]
    fn empty_units_change_nothing(mut units in prop::collection::vec((0.0_f64..50.0, 1.0_f64..99.0), 1..25)) {
        let plain = funnel(&units).unwrap();
        units.push((0.0, 0.0));
        let longer = funnel(&units).unwrap();
        prop_assert_eq!((plain.centre, plain.phi), (longer.centre, longer.phi));
    }
}
