//! Segment hazards against the worked examples, the isotonic estimate, and a plain EM.
//!
//! Sources: `tests/reference/06_interval_censored` (Finkelstein & Wolfe 1985 and constructed cases); the
//! pool-adjacent-violators algorithm of Ayer et al. (1955) and the EM of a Poisson number of entries,
//! both written out here.

use motetrail::stats::{SegmentFit, SegmentRow};
use proptest::collection::vec;
use proptest::prelude::*;

use crate::stats::cases::{case, near, number};
use crate::stats::reference::Table;

const GROUP: &str = "06_interval_censored";

fn row(exposure: Vec<f64>, n: f64, events: f64) -> SegmentRow {
    SegmentRow { exposure, fixed: 0.0, n, events }
}

/// Hazards segment by segment; each must stand alone or be passed by nobody.
fn hazards(fit: &SegmentFit, columns: usize) -> Vec<f64> {
    let mut found = vec![0.0; columns];
    for (group, members) in fit.groups.iter().enumerate() {
        assert_eq!(members.len(), 1, "{members:?}");
        found[members[0]] = fit.hazard(group);
    }
    found
}

#[test]
fn constructed_designs_have_the_expected_fit_score_and_chances() {
    for id in ["segment_four_stage", "segment_zero_boundary", "segment_prefix_reduces_to_pava"] {
        let case = case(GROUP, id);
        let table = Table::read(GROUP, &format!("{id}.csv"));
        let wanted = case.expected["lambda"].as_array().unwrap();
        let names: Vec<String> = (1..=wanted.len()).map(|at| format!("x{at}")).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let (n, dirty) = (table.numbers("n"), table.numbers("dirty"));
        let rows: Vec<SegmentRow> = table
            .rows(&names)
            .into_iter()
            .zip(n.iter().zip(&dirty))
            .map(|(exposure, (n, dirty))| row(exposure, *n, *dirty))
            .collect();
        let fit = SegmentFit::of(&rows, wanted.len());
        assert!(fit.converged, "{id}");
        let found = hazards(&fit, wanted.len());
        let score = fit.score();
        for (segment, want) in wanted.iter().enumerate() {
            case.near(found[segment], want, id);
            let slope = &case.expected["score_at_optimum"][segment];
            case.near(score[segment], slope, "score");
            assert!(fit.is_identified(segment), "{id} {segment}");
        }
        for (found, want) in
            fit.fitted().iter().zip(case.expected["fitted_p_dirty"].as_array().unwrap())
        {
            case.near(*found, want, "chance");
        }
        case.near_log(fit.log_likelihood(), &case.expected["loglik"]);
    }
}

/// An interval (lower, upper] says: through `lower` without the event, in the segments up to `upper`
/// with it.
fn turnbull(lower: &[f64], upper: &[f64]) -> (SegmentFit, Vec<f64>) {
    let mut cuts: Vec<f64> =
        lower.iter().chain(upper).copied().filter(|cut| cut.is_finite() && *cut > 0.0).collect();
    cuts.sort_by(f64::total_cmp);
    cuts.dedup();
    let passed = |from: f64, to: f64| -> Vec<f64> {
        cuts.iter().map(|cut| if *cut > from && *cut <= to { 1.0 } else { 0.0 }).collect()
    };
    let mut rows = Vec::new();
    for (low, high) in lower.iter().zip(upper) {
        rows.push(row(passed(0.0, *low), 1.0, 0.0));
        if high.is_finite() {
            rows.push(row(passed(*low, *high), 1.0, 1.0));
        }
    }
    (SegmentFit::of(&rows, cuts.len()), cuts)
}

/// Chance of no event through `at`: groups are runs of neighbouring segments.
fn survival(fit: &SegmentFit, cuts: &[f64], at: f64) -> f64 {
    if at.is_infinite() {
        return 0.0;
    }
    let passed = |members: &[usize]| cuts[members[members.len() - 1]] <= at;
    let sum: f64 = (0..fit.groups.len())
        .filter(|group| passed(&fit.groups[*group]))
        .map(|group| fit.hazard(group))
        .sum();
    (-sum).exp()
}

#[test]
fn intervals_give_the_estimate_of_turnbull() {
    let mut compared = 0;
    for (id, file) in [
        ("turnbull_cosmesis_rt", "turnbull_cosmesis_rt.csv"),
        ("turnbull_edges", "turnbull_edges.csv"),
    ] {
        let case = case(GROUP, id);
        let table = Table::read(GROUP, file);
        let (names, lower) = (table.text("group"), table.numbers("lower"));
        // Right-censored: no upper end.
        let upper: Vec<f64> = table
            .numbers("upper")
            .iter()
            .map(|x| if x.is_nan() { f64::INFINITY } else { *x })
            .collect();
        for (name, expected) in case.expected.as_object().unwrap() {
            let own = |column: &[f64]| -> Vec<f64> {
                let pairs = names.iter().zip(column).filter(|(own, _)| *own == name);
                pairs.map(|(_, x)| *x).collect()
            };
            let (fit, cuts) = turnbull(&own(&lower), &own(&upper));
            assert!(fit.converged, "{name}");
            let support = expected["support"].as_array().unwrap();
            for (part, after) in support.iter().zip(expected["survival_after"].as_array().unwrap())
            {
                let (left, right) = (number(&part["left"]), number(&part["right"]));
                let right_survival = survival(&fit, &cuts, right);
                case.near(right_survival, after, name);
                case.near(survival(&fit, &cuts, left) - right_survival, &part["mass"], name);
                compared += 1;
            }
            case.near_log(fit.log_likelihood(), &expected["loglik"]);
        }
    }
    assert_eq!(compared, 8 + 5);
}

/// Pool adjacent violators: the isotonic shares of events of nested exposures.
fn isotonic(counts: &[(f64, f64)]) -> Vec<f64> {
    let mut pools: Vec<(f64, f64, usize)> = Vec::new();
    for (n, events) in counts {
        pools.push((*n, *events, 1));
        while let [.., a, b] = pools.as_slice() {
            if a.1 / a.0 < b.1 / b.0 {
                break;
            }
            let joined = (a.0 + b.0, a.1 + b.1, a.2 + b.2);
            pools.truncate(pools.len() - 2);
            pools.push(joined);
        }
    }
    pools.iter().flat_map(|(n, events, size)| vec![events / n; *size]).collect()
}

fn nested(counts: &[(f64, f64)]) -> Vec<SegmentRow> {
    let size = counts.len();
    let prefix = |end: usize| (0..size).map(|at| f64::from(u8::from(at <= end))).collect();
    counts.iter().enumerate().map(|(end, (n, events))| row(prefix(end), *n, *events)).collect()
}

/// The EM of entries that are Poisson on every segment and seen only as none or some.
fn plain_em(rows: &[SegmentRow], columns: usize, rounds: usize) -> Vec<f64> {
    let mut hazards = vec![0.2; columns];
    let exposure = |segment: usize| rows.iter().map(|r| r.n * r.exposure[segment]).sum::<f64>();
    let passed: Vec<f64> = (0..columns).map(exposure).collect();
    for _ in 0..rounds {
        let mut entries = vec![0.0; columns];
        for row in rows.iter().filter(|row| row.events > 0.0) {
            let whole: f64 = row.exposure.iter().zip(&hazards).map(|(x, h)| x * h).sum();
            for (segment, sum) in entries.iter_mut().enumerate() {
                let own = row.exposure[segment] * hazards[segment];
                *sum += row.events * own / (1.0 - (-whole).exp());
            }
        }
        for segment in 0..columns {
            hazards[segment] = entries[segment] / passed[segment].max(1e-300);
        }
    }
    hazards
}

fn log_likelihood(rows: &[SegmentRow], hazards: &[f64]) -> f64 {
    rows.iter()
        .map(|row| {
            let whole: f64 = row.exposure.iter().zip(hazards).map(|(x, h)| x * h).sum();
            let dirty =
                if row.events > 0.0 { row.events * (1.0 - (-whole).exp()).ln() } else { 0.0 };
            dirty - (row.n - row.events) * whole
        })
        .sum()
}

/// Trials from any segment to any later one; not all of the last have an event, so that every
/// hazard is finite.
fn passages() -> impl Strategy<Value = Vec<SegmentRow>> {
    let one = (0usize..5, 1usize..6, 2u32..40, 0.0..0.9_f64);
    vec(one, 1..12).prop_map(|passages| {
        let rows = passages.into_iter().map(|(from, steps, n, share)| {
            let to = (from + steps).min(5);
            let exposure = (0..5).map(|at| f64::from(u8::from(at >= from && at < to))).collect();
            let events = (f64::from(n) * share).floor();
            row(exposure, n.into(), events)
        });
        rows.collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(120))]

    #[test]
    fn nested_exposures_give_the_isotonic_shares(counts in vec((1u32..50, 0.0..1.0_f64), 1..10)) {
        let counts: Vec<(f64, f64)> = counts
            .into_iter()
            .map(|(n, share)| (f64::from(n), (f64::from(n) * share * 0.98).round()))
            .collect();
        let fit = SegmentFit::of(&nested(&counts), counts.len());
        prop_assert!(fit.converged);
        for (found, want) in fit.fitted().iter().zip(isotonic(&counts)) {
            prop_assert!((found - want).abs() < 1e-7, "{} against {}", found, want);
        }
    }

    #[test]
    fn a_plain_em_climbs_to_the_same_top(rows in passages()) {
        let fit = SegmentFit::of(&rows, 5);
        prop_assert!(fit.converged);
        let slow = plain_em(&rows, 5, 4000);
        // The EM nears a hazard of 0 as slowly as one over the rounds.
        let gap = fit.log_likelihood() - log_likelihood(&rows, &slow);
        prop_assert!((-1e-9..0.02).contains(&gap), "{}", gap);
        for (group, members) in fit.groups.iter().enumerate() {
            let sum: f64 = members.iter().map(|segment| slow[*segment]).sum();
            if fit.is_identified(group) {
                let found = fit.hazard(group);
                prop_assert!((found - sum).abs() < 0.02 + 0.02 * sum, "{} against {}", found, sum);
            }
        }
    }

    /// No allowed direction leads up: the conditions of Karush, Kuhn and Tucker.
    #[test]
    fn the_top_is_a_top(rows in passages()) {
        let fit = SegmentFit::of(&rows, 5);
        for (group, slope) in fit.score().into_iter().enumerate() {
            let (n, _) = fit.passing(group);
            let allowed = 1e-6 * n;
            prop_assert!(slope <= allowed, "{} at {}", slope, fit.hazard(group));
            prop_assert!(fit.is_zero(group) || slope.abs() <= allowed, "{}", slope);
        }
    }
}

#[test]
fn an_em_of_the_nested_case_agrees_to_six_digits() {
    let counts = [(40.0, 4.0), (30.0, 6.0), (50.0, 15.0), (20.0, 9.0)];
    let rows = nested(&counts);
    let fit = SegmentFit::of(&rows, 4);
    for (found, want) in hazards(&fit, 4).into_iter().zip(plain_em(&rows, 4, 20_000)) {
        near(found, want, 1e-7, 0.0, "hazard");
    }
}
