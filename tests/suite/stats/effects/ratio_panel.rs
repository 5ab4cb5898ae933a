//! Ratios of counts against the closed form of two groups and two periods, and against each arrangement by hand.

use motetrail::stats::effects::arrangements::Arrangements;
use motetrail::stats::effects::panel::Window;
use motetrail::stats::effects::ratio_panel::{RatioPanel, RatioRanked, RatioScales};

const ALL: Window = Window { base: (-1000, -1), event: (0, 1000) };
const CHANCE: RatioScales = RatioScales { chance: 1.0, between: 0.0 };

fn panel() -> RatioPanel {
    RatioPanel {
        observed: vec![
            vec![12.0, 8.0, 4.0, 5.0],
            vec![20.0, 22.0, 18.0, 24.0],
            vec![9.0, 10.0, 11.0, 12.0],
            vec![30.0, 31.0, 27.0, 33.0],
        ],
        expected: vec![vec![10.0; 4], vec![20.0; 4], vec![10.0; 4], vec![30.0; 4]],
    }
}

#[test]
fn one_group_and_one_time_is_the_ratio_of_ratios() {
    let panel = RatioPanel {
        observed: vec![vec![40.0, 18.0], vec![90.0, 99.0]],
        expected: vec![vec![50.0, 45.0], vec![100.0, 110.0]],
    };
    let starts = [Some(1), None];
    let found = panel.contrast(&starts, (&starts, 1.0), &ALL, &CHANCE).unwrap();
    let closed = (18.0 / 45.0) / (40.0 / 50.0) / ((99.0 / 110.0) / (90.0 / 100.0));
    assert!((found.ratio().unwrap() - closed).abs() < 1e-12);
    // Variance of the log by sizes: a term for each of the four cells.
    let variance: f64 = [50.0, 45.0, 100.0, 110.0].iter().map(|n| 1.0 / n).sum();
    assert!((found.spread - variance.sqrt()).abs() < 1e-12);
}

#[test]
fn events_divided_where_something_began_divide_the_ratio() {
    let starts = [Some(2), None, None, None];
    let found = |times: f64| {
        panel().contrast(&starts, (&starts, times), &ALL, &CHANCE).unwrap().ratio().unwrap()
    };
    assert!((found(2.0) - found(1.0) / 2.0).abs() < 1e-12);
}

#[test]
fn p_values_are_those_of_four_ways_by_hand() {
    let (panel, starts) = (panel(), [Some(2), None, None, None]);
    let arrangements = Arrangements::of(&starts, 4_999, 1);
    let ranked =
        RatioRanked { panel: &panel, arrangements: &arrangements, window: ALL, scales: CHANCE };
    let far = |unit: usize| {
        let rows = |is: bool| {
            let of = move |rows: &[Vec<f64>], times: [usize; 2]| -> f64 {
                let units = (0..4).filter(move |other| (*other == unit) == is);
                units.map(|other| times.iter().map(|time| rows[other][*time]).sum::<f64>()).sum()
            };
            [
                of(&panel.observed, [0, 1]),
                of(&panel.expected, [0, 1]),
                of(&panel.observed, [2, 3]),
                of(&panel.expected, [2, 3]),
            ]
        };
        let [o, e, o2, e2] = rows(true);
        // Others' level by the time, summed over both times; expected ones are level, so it is their sum.
        let [p, f, p2, f2] = rows(false);
        let without = e2 * (o / e) * (p2 / f2) / (p / f);
        let spread = (1.0 / e + 1.0 / e2 + 1.0 / f + 1.0 / f2).sqrt();
        ((o2 + 0.5) / (without + 0.5)).ln() / spread
    };
    let own = far(0).abs();
    let by_hand = (0..4).filter(|unit| far(*unit).abs() >= own - 1e-12).count() as f64 / 4.0;
    assert_eq!(ranked.p(1.0), Some(by_hand));
    let upper = (0..4).filter(|unit| far(*unit) >= far(0) - 1e-12).count() as f64 / 4.0;
    assert_eq!(ranked.p_upper(), Some(upper));
    assert_eq!(upper, 1.0);
}

#[test]
fn the_interval_holds_the_ratio_and_what_is_not_rejected() {
    let mut panel = panel();
    panel
        .observed
        .extend((0..6).map(|unit| vec![10.0 + f64::from(unit), 12.0, 11.0, 9.0 + f64::from(unit)]));
    panel.expected.extend(vec![vec![11.0; 4]; 6]);
    let starts: Vec<Option<usize>> = (0..10).map(|unit| (unit < 3).then_some(2)).collect();
    let arrangements = Arrangements::of(&starts, 4_999, 1);
    let ranked = RatioRanked {
        panel: &panel,
        arrangements: &arrangements,
        window: ALL,
        scales: panel.scales(2),
    };
    let ratio = ranked.own().unwrap().ratio().unwrap();
    let found = ranked.inverted(0.9, 1.0 / 120.0);
    let (low, high) = (found.low.unwrap(), found.high.unwrap());
    assert!(low < ratio && ratio < high);
    for (times, kept) in
        [(low * 0.995, false), (low * 1.005, true), (high * 0.995, true), (high * 1.005, false)]
    {
        assert_eq!(ranked.p(times).unwrap() > 0.1, kept, "{times} in {low} to {high}");
    }
    assert_eq!(ranked.p(ratio), Some(1.0));
}

#[test]
fn a_base_without_events_gives_no_ratio() {
    let mut panel = panel();
    panel.observed[0] = vec![0.0, 0.0, 3.0, 2.0];
    let starts = [Some(2), None, None, None];
    assert_eq!(panel.contrast(&starts, (&starts, 1.0), &ALL, &CHANCE), None);
}
