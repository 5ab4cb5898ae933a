use crate::stats::plain_sums::{MU_STEP, TAU_STEP, X_STEP, plain_quantile, plain_sums};
use crate::stats::reference::close;
use motetrail::stats::estimate::{Estimate, Warning};
use motetrail::stats::exact_ratio::exact_ratio;
use motetrail::stats::person_time::PersonTime;
use motetrail::stats::random_effects::{
    Grid, RandomEffects, random_effects, random_effects_of, random_effects_on,
};

const SCALE: f64 = 0.5;

fn stratum(d1: u64, t1: f64, d0: u64, t0: f64) -> PersonTime {
    PersonTime { d1, t1, d0, t0 }
}

/// Three cells: a strong one of two strata, a weak one, one with events on one side only.
fn three_cells() -> Vec<Vec<PersonTime>> {
    vec![
        vec![stratum(20, 100.0, 9, 120.0), stratum(6, 50.0, 3, 40.0)],
        vec![stratum(2, 30.0, 2, 25.0)],
        vec![stratum(1, 10.0, 0, 14.0)],
    ]
}

/// SplitMix64 (Steele, Lea & Flood 2014), for seeded tests.
fn generator(mut state: u64) -> impl FnMut() -> f64 {
    move || {
        state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64 + 1e-17
    }
}

#[test]
fn posterior_agrees_with_plain_sums_over_all_three_dimensions() {
    let cells = three_cells();
    let want = plain_sums(&cells, SCALE);
    let got = random_effects(&cells, SCALE, 0.95);
    for (cell, masses) in got.cells.iter().zip(&want.cells) {
        let at = |p: f64| plain_quantile(masses, -6.0, X_STEP, p);
        close(cell.ratio.value.unwrap().ln(), at(0.5), 0.0, 1e-3);
        close(cell.ratio.low.unwrap().ln(), at(0.025), 0.0, 1e-3);
        close(cell.ratio.high.unwrap().ln(), at(0.975), 0.0, 1e-3);
        let fraction = |i: usize| 1.0 - (6.0 - X_STEP * i as f64).exp();
        let mean = masses.iter().enumerate().map(|(i, m)| m * fraction(i)).sum::<f64>()
            / masses.iter().sum::<f64>();
        close(cell.attributable.value.unwrap(), mean, 1e-3, 1e-3);
        close(cell.attributable.low.unwrap(), 1.0 - (-at(0.025)).exp(), 3e-3, 0.0);
    }
    for (p, mu, tau) in [
        (0.5, got.mu.value, got.tau.value),
        (0.025, got.mu.low, got.tau.low),
        (0.975, got.mu.high, got.tau.high),
    ] {
        close(mu.unwrap(), plain_quantile(&want.mu, -4.0, MU_STEP, p), 0.0, 2e-3);
        let tau_want = plain_quantile(&want.tau, 0.5 * TAU_STEP, TAU_STEP, p);
        close(tau.unwrap(), tau_want, 0.0, 2e-3);
    }
}

fn numbers(fit: &RandomEffects) -> Vec<f64> {
    let each = fit.cells.iter().flat_map(|c| [&c.ratio, &c.attributable]);
    each.chain([&fit.mu, &fit.tau])
        .flat_map(|e| [e.value, e.low, e.high])
        .map(|x| x.expect("every posterior has numbers"))
        .collect()
}

#[test]
fn twice_as_fine_a_grid_moves_nothing_by_a_ten_thousandth() {
    let strong: Vec<Vec<PersonTime>> = (0..30)
        .map(|i| vec![stratum(4_000 + 150 * i, 1e4, 3_000, 1e4), stratum(i, 30.0, 5, 70.0)])
        .collect();
    let empty = vec![vec![stratum(0, 5.0, 0, 5.0)], vec![stratum(7, 5.0, 3, 5.0)]];
    let once = Grid::default();
    let twice = Grid { cell: 2 * once.cell, mu: 2 * once.mu, tau: 2 * once.tau };
    for cells in [three_cells(), strong, empty] {
        let coarse = random_effects(&cells, SCALE, 0.95);
        let fine = random_effects_on(&cells, SCALE, 0.95, twice);
        for (a, b) in numbers(&coarse).into_iter().zip(numbers(&fine)) {
            close(a, b, 1e-4, 1e-4);
        }
    }
}

#[test]
fn a_posterior_piled_against_the_prior_is_good_to_a_thousandth() {
    // One cell with events on one side: the flat prior of the mean cuts it off at 4.
    let cells = [vec![stratum(3, 1.0, 0, 1.0)]];
    let coarse = random_effects(&cells, SCALE, 0.95);
    let fine = random_effects_on(&cells, SCALE, 0.95, Grid { cell: 388, mu: 168, tau: 128 });
    for (a, b) in numbers(&coarse).into_iter().zip(numbers(&fine)) {
        close(a, b, 1e-3, 1e-3);
    }
}

#[test]
fn a_cell_without_informative_events_borrows_and_changes_nothing() {
    let cells = three_cells();
    let mut more = cells.clone();
    more.push(vec![stratum(0, 40.0, 0, 50.0), stratum(3, 10.0, 0, 0.0)]);
    more.push(vec![]);
    let (a, b) = (random_effects(&cells, SCALE, 0.95), random_effects(&more, SCALE, 0.95));
    assert_eq!(a.cells[..], b.cells[..3]);
    assert_eq!((&a.mu, &a.tau), (&b.mu, &b.tau));
    assert!(b.cells[3].borrowed && b.cells[4].borrowed && !b.cells[0].borrowed);
    assert_eq!(b.cells[3].ratio.value, b.cells[4].ratio.value);
    assert_eq!(b.cells[3].ratio.warnings, [Warning::NoData]);
    // What is borrowed is less certain than the mean it is borrowed from.
    assert!(b.cells[3].ratio.low.unwrap().ln() < b.mu.low.unwrap());
}

/// Cells that are not asked for lend what they know all the same.
#[test]
fn cells_that_are_asked_for_alone_have_the_posteriors_that_they_have_among_all() {
    let mut cells = three_cells();
    cells.push(vec![]);
    let all = random_effects(&cells, SCALE, 0.95);
    let some = random_effects_of(&cells, &[3, 0], (SCALE, 0.95), Grid::default());
    assert_eq!(some.cells, [all.cells[3].clone(), all.cells[0].clone()]);
    assert_eq!((&some.mu, &some.tau), (&all.mu, &all.tau));
    let prior = |effects: &RandomEffects, place| effects.drawn_prior(place, (0.3, 0.2), 0.4);
    assert_eq!(prior(&some, 1), prior(&all, 0));
    let none = random_effects_of(&cells, &[], (SCALE, 0.95), Grid::default());
    assert!(none.cells.is_empty() && none.mu == all.mu);
}

#[test]
fn order_of_cells_and_strata_does_not_matter() {
    let cells = three_cells();
    let turned: Vec<Vec<PersonTime>> =
        cells.iter().rev().map(|c| c.iter().rev().copied().collect()).collect();
    let a = random_effects(&cells, SCALE, 0.95);
    let b = random_effects(&turned, SCALE, 0.95);
    for (x, y) in a.cells.iter().zip(b.cells.iter().rev()) {
        close(x.ratio.high.unwrap(), y.ratio.high.unwrap(), 1e-9, 0.0);
        close(x.attributable.value.unwrap(), y.attributable.value.unwrap(), 1e-9, 0.0);
    }
}

#[test]
fn one_cell_with_much_data_has_the_interval_of_its_own_data() {
    // ln(2) +- 1.96 sqrt(1/20000 + 1/10000); what the prior adds is under a thousandth of it.
    let got = random_effects(&[vec![stratum(20_000, 1.0, 10_000, 1.0)]], SCALE, 0.95);
    let reach = 1.959_963_985 * 1.5e-4_f64.sqrt();
    let ratio = &got.cells[0].ratio;
    close(ratio.low.unwrap().ln(), 2.0_f64.ln() - reach, 0.0, 2e-4);
    close(ratio.high.unwrap().ln(), 2.0_f64.ln() + reach, 0.0, 2e-4);
}

#[test]
fn no_data_gives_back_the_prior() {
    let got = random_effects(&[vec![]], SCALE, 0.95);
    close(got.mu.value.unwrap(), 0.0, 0.0, 1e-6);
    close(got.mu.low.unwrap(), -3.8, 0.0, 1e-3);
    // Median and 97.5 % point of a half-normal with scale 0.5.
    close(got.tau.value.unwrap(), 0.5 * 0.674_489_75, 0.0, 1e-3);
    close(got.tau.high.unwrap(), 0.5 * 2.241_402_73, 0.0, 2e-3);
    assert!(random_effects(&[], SCALE, 0.95).cells.is_empty());
}

#[test]
fn draws_have_the_quantiles_of_the_posterior() {
    let mut cells = three_cells();
    cells.push(vec![]);
    let fit = random_effects(&cells, SCALE, 0.95);
    let mut uniforms = generator(7);
    let draws: Vec<Vec<f64>> = (0..20_000).map(|_| fit.draw(&mut uniforms)).collect();
    for (c, cell) in fit.cells.iter().enumerate() {
        let below = |x: f64| draws.iter().filter(|d| d[c] < x).count() as f64 / 20_000.0;
        // Monte Carlo error of a share of 0.5 is 0.0035.
        close(below(cell.ratio.value.unwrap().ln()), 0.5, 0.0, 0.015);
        close(below(cell.ratio.low.unwrap().ln()), 0.025, 0.0, 0.006);
        close(below(cell.ratio.high.unwrap().ln()), 0.975, 0.0, 0.006);
    }
}

/// Thirty cells, one of them of fivefold risk: what stands apart is not drawn to the others, and the others are
/// drawn to each other.
#[test]
fn a_cell_that_stands_apart_keeps_its_ratio_and_is_called_so() {
    let mut cells = vec![vec![stratum(12, 10.0, 18, 20.0)]; 29];
    cells.push(vec![stratum(36, 10.0, 14, 20.0)]);
    let fit = random_effects(&cells, SCALE, 0.95);
    let (like, apart) = (&fit.cells[0], &fit.cells[29]);
    assert!(apart.apart > 0.9 && like.apart < 0.1, "{} {}", apart.apart, like.apart);
    let own = 36.0 / 10.0 / (14.0 / 20.0);
    assert!(apart.ratio.value.unwrap() > 0.85 * own, "{:?}", apart.ratio);
    let width = |e: &Estimate| e.high.unwrap().ln() - e.low.unwrap().ln();
    let alone: Vec<Estimate> = cells.iter().map(|strata| exact_ratio(strata, 0.95)).collect();
    assert!(width(&like.ratio) < 0.7 * width(&alone[0]));
    // Its own ratio leads where it stands apart.
    assert_eq!(apart.leading(&alone[29]), &alone[29]);
    assert_eq!(like.leading(&alone[0]), &like.ratio);
}

/// A prior drawn for a cell is the wide one as often as the cell stands apart.
#[test]
fn drawn_priors_have_both_parts_in_the_share_that_the_cell_stands_apart() {
    let fit = random_effects(&three_cells(), SCALE, 0.95);
    let steps = 10_000;
    for (place, cell) in fit.cells.iter().enumerate() {
        let draw =
            |i: i32| fit.drawn_prior(place, (0.3, 0.2), (f64::from(i) + 0.5) / f64::from(steps));
        let priors: Vec<_> = (0..steps).map(draw).collect();
        let wide = priors.iter().filter(|prior| prior.deviation == 1.5).count();
        close(wide as f64 / f64::from(steps), cell.apart, 0.0, 2e-4);
        let narrow: Vec<f64> =
            priors.iter().filter(|prior| prior.deviation == 0.2).map(|prior| prior.mean).collect();
        let mean = narrow.iter().sum::<f64>() / narrow.len() as f64;
        let variance = narrow.iter().map(|m| (m - mean).powi(2)).sum::<f64>() / narrow.len() as f64;
        close(mean, 0.3, 0.0, 1e-3);
        close(variance.sqrt(), 0.2, 0.0, 2e-3);
    }
}

#[test]
fn intervals_cover_truths_drawn_from_the_prior() {
    let mut uniforms = generator(20_240_611);
    let (mut covered, mut cells) = (0.0, 0.0);
    for _ in 0..150 {
        let mut normal = || {
            let radius = (-2.0 * uniforms().ln()).sqrt();
            radius * (std::f64::consts::TAU * uniforms()).cos()
        };
        let tau = (SCALE * normal()).abs().min(2.0);
        let shifts: Vec<[f64; 2]> = (0..4).map(|_| [tau * normal(), 1.5 * normal()]).collect();
        let mu = -4.0 + 8.0 * uniforms();
        let mut shift = |[near, far]: &[f64; 2]| if uniforms() < 0.15 { *far } else { *near };
        let truths: Vec<f64> =
            shifts.iter().map(|both| (mu + shift(both)).clamp(-6.0, 6.0)).collect();
        let data: Vec<Vec<PersonTime>> = truths
            .iter()
            .map(|truth| {
                let share = 1.0 / (1.0 + (-truth).exp());
                let d1 = (0..12).filter(|_| uniforms() < share).count() as u64;
                vec![stratum(d1, 1.0, 12 - d1, 1.0)]
            })
            .collect();
        for (cell, truth) in random_effects(&data, SCALE, 0.9).cells.iter().zip(truths) {
            let inside =
                cell.ratio.low.unwrap().ln() <= truth && truth <= cell.ratio.high.unwrap().ln();
            covered += f64::from(u8::from(inside));
            cells += 1.0;
        }
    }
    // 600 intervals, four to a shared mean: Monte Carlo error at most 2.5 points.
    close(covered / cells, 0.9, 0.0, 0.05);
}
