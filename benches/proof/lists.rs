//! Lists of the conspicuous where nothing is planted: 5.4 against the rest, 5.7 carriers.

use super::chance::{binomial, frailty, poisson};
use super::score::{Claim, Setting, alarm, alarms, covered_on_average, leaves_out};
use motetrail::stats::gamma_poisson::{Observed, PriorMean, gamma_poisson};
use motetrail::stats::hypergeometric::{DrawCell, draw_tail, normal_tail};
use motetrail::stats::{benjamini_hochberg, rate_ratio};
use motetrail::synth::draw::Draw;

const LEVEL: f64 = 0.95;

pub fn settings() -> Vec<Setting> {
    let mut all = Vec::new();
    for (events, variance) in [(2.0, 0.0), (20.0, 0.0), (20.0, 0.05)] {
        all.push(against_the_rest(events, variance));
    }
    for (trials, dirty, correlation) in [(30, 0.05, 0.0), (30, 0.3, 0.0), (30, 0.3, 0.1)] {
        all.push(carriers(trials, dirty, correlation));
    }
    for (events, variance) in [(2.0, 0.0), (2.0, 0.3), (20.0, 0.3)] {
        all.push(shrunken(events, variance));
    }
    all
}

fn list_is_empty(p_values: &[f64]) -> bool {
    benjamini_hochberg(p_values).iter().all(|q| *q > 0.05)
}

/// Forty sites with one rate; where a variance is given, their rates differ, and the list finds
/// differences that are there.
fn against_the_rest(events: f64, variance: f64) -> Setting {
    let words = format!("40 sites; {events} faults each; variance between sites {variance}");
    let method = "ratio to the rest; mid-P; any site with q <= 0.05";
    let claim = match variance > 0.0 {
        true => Claim::stated("5.4", method, &words),
        false => Claim::alarms("5.4", method, &words, 0.05),
    };
    Setting::new(vec![claim], move |draw| {
        let counts: Vec<u64> = (0..40)
            .map(|_| events * frailty(draw, variance))
            .collect::<Vec<f64>>()
            .into_iter()
            .map(|mean| poisson(draw, mean))
            .collect();
        let all: u64 = counts.iter().sum();
        let p = |own: &u64| rate_ratio(*own, 1.0, all - own, 39.0, LEVEL).p;
        vec![alarm(!list_is_empty(&counts.iter().map(p).collect::<Vec<f64>>()))]
    })
    .costly()
}

/// Cells of the carriers' trials.
const CELLS: usize = 5;
/// Parties that are tested.
const PARTIES: usize = 40;

/// Parties whose trials fall into cells at random; nobody carries anything. Trials of a party come
/// in work orders of five that share their chance where there is a correlation.
fn carriers(trials: u64, dirty: f64, correlation: f64) -> Setting {
    let words =
        format!("{PARTIES} parties; {trials} trials; dirty {dirty}; correlation {correlation}");
    let claims = vec![
        Claim::alarms("5.7", "exact tail; any party with q <= 0.05", &words, 0.05),
        Claim::alarms("5.7", "normal tail with phi; any party with q <= 0.05", &words, 0.05),
        Claim::alarms("5.7", "both; any party listed as carrier", &words, 0.05),
    ];
    Setting::new(claims, move |draw| {
        let orders: Vec<Vec<Order>> = (0..PARTIES)
            .map(|_| (0..trials / 5).map(|_| order(draw, dirty, correlation)).collect())
            .collect();
        let (exact, normal) = tails(&orders);
        let (q, r) = (benjamini_hochberg(&exact), benjamini_hochberg(&normal));
        let both = q.iter().zip(&r).any(|(q, r)| *q <= 0.05 && *r <= 0.05);
        vec![alarm(!list_is_empty(&exact)), alarm(!list_is_empty(&normal)), alarm(both)]
    })
    .costly()
}

/// Five trials of one party in one cell.
struct Order {
    cell: usize,
    dirty: u64,
}

fn order(draw: &mut Draw, dirty: f64, correlation: f64) -> Order {
    let cell = draw.index(CELLS);
    let mean = dirty * (0.6 + 0.2 * cell as f64);
    let own = super::chance::share(draw, mean, correlation);
    Order { cell, dirty: binomial(draw, 5, own) }
}

/// Exact and normal tails of all parties, as 5.7 has them.
fn tails(orders: &[Vec<Order>]) -> (Vec<f64>, Vec<f64>) {
    let mut cells = vec![DrawCell::default(); CELLS];
    for order in orders.iter().flatten() {
        cells[order.cell].total += 5;
        cells[order.cell].marked += order.dirty;
    }
    let chance = |cell: usize| cells[cell].marked as f64 / cells[cell].total.max(1) as f64;
    let (mut scatter, mut expected) = (0.0, 0.0);
    for order in orders.iter().flatten() {
        let p = chance(order.cell);
        scatter += (order.dirty as f64 - 5.0 * p).powi(2);
        expected += 5.0 * p * (1.0 - p);
    }
    let phi = if expected > 0.0 { (scatter / expected).max(1.0) } else { 1.0 };
    let tail = |own: &Vec<Order>| {
        let mut drawn = cells.clone();
        own.iter().for_each(|order| drawn[order.cell].drawn += 5);
        let observed = own.iter().map(|order| order.dirty).sum();
        let exact = draw_tail(&drawn, observed);
        (exact.p, normal_tail(observed, exact.mean, exact.variance, phi))
    };
    orders.iter().map(tail).unzip()
}

/// Parties' ratios drawn towards 1, with the prior's mean known.
fn shrunken(events: f64, variance: f64) -> Setting {
    let words = format!("40 parties; {events} expected each; variance of ratios {variance}");
    let method = "gamma-Poisson empirical Bayes";
    let mut claims = vec![Claim::covers("5.7", &format!("{method}; mean over parties"), &words)];
    if variance == 0.0 {
        let listed = format!("{method}; parties whose interval leaves out 1");
        claims.push(Claim::alarms("5.7", &listed, &words, 0.05));
    }
    Setting::new(claims, move |draw| {
        let truths: Vec<f64> = (0..40).map(|_| frailty(draw, variance)).collect();
        let mut party =
            |truth: &f64| Observed { events: poisson(draw, events * truth), expected: events };
        let parties: Vec<Observed> = truths.iter().map(&mut party).collect();
        let fit = gamma_poisson(&parties, PriorMean::Known(1.0), LEVEL);
        let average = covered_on_average(fit.ratios.iter().zip(truths));
        vec![average, alarms(fit.ratios.iter().map(|ratio| leaves_out(ratio, 1.0)))]
    })
    .costly()
}
