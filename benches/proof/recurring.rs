//! 5.4: faults that come back, and whether they come more often with time.

use super::chance::frailty;
use super::score::{Claim, Setting, alarm, covered};
use motetrail::stats::power_law::{Watch, laplace, power_law};
use motetrail::stats::recurrence::{History, mean_cumulative};
use motetrail::synth::draw::Draw;

const LEVEL: f64 = 0.95;

pub fn settings() -> Vec<Setting> {
    let mut all = Vec::new();
    for events in [4.0, 10.0, 50.0] {
        for shape in [1.0, 1.5] {
            all.push(trend(events, shape));
        }
    }
    for units in [10, 50, 300] {
        for (rate, variance) in [(1.0, 0.0), (1.0, 1.0), (0.05, 0.0)] {
            all.push(recurrences(units, rate, variance));
        }
    }
    all
}

/// Ages before `end` at which events happen that come at this rate.
fn process(draw: &mut Draw, rate: f64, end: f64) -> Vec<f64> {
    let mut age = 0.0;
    let next = || {
        age += draw.wait() / rate;
        (age < end).then_some(age)
    };
    std::iter::from_fn(next).collect()
}

fn trend(expected: f64, shape: f64) -> Setting {
    let words = format!("{expected} events expected; growth {shape}");
    let mut claims = vec![Claim::covers("5.4", "power law; growth; exact", &words)];
    if shape == 1.0 {
        claims.push(Claim::alarms("5.4", "Laplace trend test p <= 0.05", &words, 0.05));
    }
    Setting::new(claims, move |draw| {
        // Time on the scale where the process is even, put back to the scale where it grows.
        let even = process(draw, expected, 1.0);
        let ages: Vec<f64> = even.iter().map(|t| t.powf(1.0 / shape)).collect();
        let fit = power_law(&ages, Watch::Until(1.0), LEVEL);
        let test = laplace(&ages, Watch::Until(1.0));
        vec![covered(&fit.shape, shape), test.and_then(|test| alarm(test.p <= 0.05))]
    })
    .quick(if shape == 1.0 { 400 } else { 0 })
}

/// Units watched for a half to one unit of time; the mean at 0.5, which all of them reach.
fn recurrences(units: u32, rate: f64, variance: f64) -> Setting {
    let words = format!("{units} units; {rate} events each; variance between units {variance}");
    let claims = vec![Claim::covers("5.4", "mean cumulative function; log Wald", &words)];
    Setting::new(claims, move |draw| {
        let mut unit = |_| {
            let end = 0.5 + 0.5 * draw.unit();
            let own = 2.0 * rate * frailty(draw, variance);
            History { end, events: process(draw, own.max(1e-12), end) }
        };
        let histories: Vec<History> = (0..units).map(&mut unit).collect();
        let curve = mean_cumulative(&histories, LEVEL);
        let reached = curve.iter().rev().find(|point| point.age <= 0.5);
        vec![reached.and_then(|point| covered(&point.mean, rate))]
    })
    .costly()
}
