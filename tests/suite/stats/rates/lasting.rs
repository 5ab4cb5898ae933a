//! How long luck lasts, and which blocks are taken; by counts whose scatter is worked out by hand.

use motetrail::stats::rate::scatter_of_ratio;
use motetrail::stats::{BLOCK_WEEKS, Part, Scatter, lasting, scatter, that_tell};

/// Two years of one place: four weeks with twelve events each, four with four, and so on.
fn scatters() -> [Scatter; 3] {
    let week = |week: u64| Part {
        events: if (week / 4).is_multiple_of(2) { 12 } else { 4 },
        exposure: 1.0,
        ..Part::default()
    };
    BLOCK_WEEKS.map(|length| {
        let part = |at: u64| Part { cluster: at / u64::from(length), ..week(at) };
        scatter(&(0..104).map(part).collect::<Vec<Part>>())
    })
}

/// A week is four events off its mean of eight, a month sixteen off 32; quarters level them out.
#[test]
fn luck_of_four_weeks_asks_for_months() {
    let scatters = scatters();
    let [weeks, months, _] = scatters.map(|scatter| scatter.phi.unwrap());
    assert!((weeks - 2.0).abs() < 0.1 && (months - 8.0).abs() < 0.5, "{weeks} {months}");
    assert_eq!(lasting(&scatters, 10), 1);
    // There are 26 months.
    assert_eq!(lasting(&scatters, 27), 0);
    assert_eq!(lasting(&[], 10), 0);
}

#[test]
fn the_longest_blocks_that_tell_are_taken() {
    let blocks = [52, 13, 4];
    let taken = |wanted: usize, least: u32| {
        that_tell(wanted, |length| blocks[length], |_, found| *found >= least)
    };
    assert_eq!(taken(2, 4), (4, 2));
    assert_eq!(taken(2, 10), (13, 1));
    assert_eq!(taken(1, 4), (13, 1));
    assert_eq!(taken(2, 100), (52, 0));
}

#[test]
fn two_scatters_join_as_the_variances_of_logs_add() {
    let joined = scatter_of_ratio((10, 3.0), (40, 2.0));
    assert!((joined - (0.3 + 0.05) / (0.1 + 0.025)).abs() < 1e-12, "{joined}");
    // A cell is not calmer than all are.
    assert_eq!(scatter_of_ratio((10, 1.0), (40, 2.0)), 2.0);
    assert_eq!(scatter_of_ratio((0, 3.0), (0, 2.0)), 3.0);
}
