//! 5.2: cycles to pass, with rejects that compete and people who leave.

use super::chance::{beta, normal};
use super::score::{Claim, Setting, alarm, covered};
use motetrail::stats::adjusted_curve::{Mix, adjusted_curve};
use motetrail::stats::beta_geometric::{beta_geometric, heterogeneity};
use motetrail::stats::clustered_trials::{Cluster, geometric_clustered};
use motetrail::stats::discrete_logistic::{Grouped, discrete_logistic};
use motetrail::stats::geometric::geometric;
use motetrail::stats::{
    ClusterSums, Step, aalen_johansen, aalen_johansen_clustered, effective_share,
};
use motetrail::synth::draw::Draw;

const LEVEL: f64 = 0.95;

/// Chance of leaving after a cycle without a pass or a reject.
const LEAVES: f64 = 0.08;

pub fn settings() -> Vec<Setting> {
    let mut all = Vec::new();
    for units in [15, 100, 1000] {
        all.push(incidence(units, "usual", [0.55, 0.45, 0.35, 0.3, 0.25], 0.04));
        all.push(incidence(units, "few pass", [0.03; 5], 0.04));
    }
    for orders in [30, 200] {
        for correlation in [0.0, 0.05, 0.16] {
            all.push(in_orders(orders, correlation));
        }
    }
    for units in [15, 100, 1000] {
        for chance in [0.6, 0.05] {
            all.push(common_chance(units, chance));
        }
    }
    for units in [60, 300, 2000] {
        for (a, b) in [(3.0, 2.0), (0.5, 9.5)] {
            all.push(mixed_chance(units, a, b));
        }
    }
    for clusters in [8, 20, 60] {
        for sharing in [0.0, 0.4] {
            all.push(regression(clusters, sharing));
        }
    }
    all
}

/// Counts at cycles 1 to 5 of units that come in with the same hazards.
fn exits(draw: &mut Draw, units: u64, pass: [f64; 5], reject: f64) -> Vec<Step> {
    let mut steps = vec![Step { competing: vec![0], ..Step::default() }; 5];
    for _ in 0..units {
        for (cycle, step) in steps.iter_mut().enumerate() {
            let u = draw.unit();
            if u < pass[cycle] {
                step.events += 1;
            } else if u < pass[cycle] + reject {
                step.competing[0] += 1;
            } else if cycle == 4 || draw.chance(LEAVES) {
                step.censored += 1;
            } else {
                continue;
            }
            break;
        }
    }
    steps
}

fn incidence(units: u64, name: &str, pass: [f64; 5], reject: f64) -> Setting {
    let words = |cycle: usize| format!("{units} visits; {name}; cycle {cycle}");
    let mut claims: Vec<Claim> = (1..=5)
        .map(|cycle| Claim::covers("5.2", "Aalen-Johansen log-log; passes", &words(cycle)))
        .collect();
    for cycle in [1, 5] {
        claims.push(Claim::covers("5.2", "Aalen-Johansen log-log; rejects", &words(cycle)));
        claims.push(Claim::covers("5.2", "hazard of a pass; Wilson", &words(cycle)));
    }
    let (mut passed, mut rejected, mut waiting) = ([0.0; 5], [0.0; 5], 1.0);
    let (mut passes, mut rejects) = (0.0, 0.0);
    for cycle in 0..5 {
        passes += waiting * pass[cycle];
        rejects += waiting * reject;
        waiting *= 1.0 - pass[cycle] - reject;
        (passed[cycle], rejected[cycle]) = (passes, rejects);
    }
    Setting::new(claims, move |draw| {
        let rows = aalen_johansen(&exits(draw, units, pass, reject), LEVEL).rows;
        let mut scores: Vec<_> =
            rows.iter().zip(passed).map(|(row, truth)| covered(&row.event, truth)).collect();
        for cycle in [0, 4] {
            scores.push(covered(&rows[cycle].competing[0], rejected[cycle]));
            scores.push(covered(&rows[cycle].hazard, pass[cycle]));
        }
        scores
    })
    .quick(if units == 100 { 400 } else { 0 })
}

/// Chance of a pass at each cycle of an end face with ordinary luck, and of a reject at any.
const PASS: [f64; 5] = [0.55, 0.45, 0.35, 0.3, 0.25];
const REJECT: f64 = 0.04;

/// Chances of a pass in a work order whose luck is `luck`, on the scale of log odds.
fn lucky(luck: f64) -> [f64; 5] {
    PASS.map(|p| 1.0 / (1.0 + (-(p / (1.0 - p)).ln() - luck).exp()))
}

/// What is true of visits whose orders' luck is normal with this standard deviation: passed by each cycle,
/// and of all cycles that are made the shares that pass and that leave the end face contaminated.
fn truth_of(deviation: f64) -> ([f64; 5], f64, f64) {
    let (mut passed, mut weight) = ([0.0; 5], 0.0);
    let (mut made, mut contaminated, mut passing) = (0.0, 0.0, 0.0);
    for step in -400..=400 {
        let z = f64::from(step) / 50.0;
        let density = (-0.5 * z * z).exp();
        let (mut waiting, mut here, mut sum) = (1.0, 1.0, 0.0);
        for (cycle, p) in lucky(z * deviation).into_iter().enumerate() {
            let dirty = 1.0 - p - REJECT * (1.0 - p);
            sum += waiting * p;
            passed[cycle] += density * sum;
            made += density * here;
            contaminated += density * here * dirty;
            passing += density * here * p;
            waiting *= dirty;
            here *= dirty * (1.0 - LEAVES);
        }
        weight += density;
    }
    let passed = passed.map(|sum| sum / weight);
    (passed, passing / made, contaminated / made)
}

/// The visits of one work order, and its cycles: those that left the end face contaminated, and all.
fn order(draw: &mut Draw, deviation: f64) -> (Vec<Step>, (u64, u64)) {
    let chances = lucky(deviation * normal(draw));
    let mut steps = vec![Step { competing: vec![0], ..Step::default() }; 5];
    let (mut contaminated, mut made) = (0, 0);
    // Six visits in the mean, and orders of very different size.
    let visits = 1 + (5.0 * draw.wait()) as u64;
    for _ in 0..visits {
        for (cycle, step) in steps.iter_mut().enumerate() {
            made += 1;
            if draw.chance(chances[cycle]) {
                step.events += 1;
            } else if draw.chance(REJECT) {
                step.competing[0] += 1;
            } else {
                contaminated += 1;
                if cycle < 4 && !draw.chance(LEAVES) {
                    continue;
                }
                step.censored += 1;
            }
            break;
        }
    }
    (steps, (contaminated, made))
}

/// Those that passed at each cycle, and those that left after it otherwise.
fn exits_of(steps: &[Step]) -> Cluster {
    let otherwise = |step: &Step| step.competing[0] + step.censored;
    (steps.iter().map(|step| step.events).collect(), steps.iter().map(otherwise).collect())
}

/// The visits of all work orders.
fn together(orders: &[Vec<Step>]) -> Vec<Step> {
    let mut all = vec![Step { competing: vec![0], ..Step::default() }; 5];
    for (sum, step) in orders.iter().flat_map(|order| order.iter().enumerate()) {
        all[sum].events += step.events;
        all[sum].competing[0] += step.competing[0];
        all[sum].censored += step.censored;
    }
    all
}

/// Visits of a work order share a luck that no method here fits, over all their cycles.
fn in_orders(orders: u64, correlation: f64) -> Setting {
    // On the latent scale: variance of the luck over that and the logistic variance, pi^2 / 3.
    let deviation = (correlation / (1.0 - correlation) / 3.0).sqrt() * std::f64::consts::PI;
    let words = format!("{orders} work orders of about 6; latent correlation {correlation}");
    let passes = |cycle: usize| {
        let method = "Aalen-Johansen log-log; by clusters; passes";
        Claim::covers("5.2", method, &format!("{words}; cycle {cycle}"))
    };
    let claims = vec![
        passes(1),
        passes(3),
        passes(5),
        Claim::covers(
            "5.2",
            "Aalen-Johansen log-log; by clusters; rejects",
            &format!("{words}; cycle 1"),
        ),
        Claim::covers(
            "5.2",
            "hazard of a pass at cycle 1; Clopper-Pearson on effective size",
            &words,
        ),
        Claim::covers("5.2", "left contaminated; Clopper-Pearson on effective size", &words),
        Claim::covers(
            "5.2",
            "one chance for all cycles; Clopper-Pearson on effective size",
            &words,
        ),
        Claim::stated("5.2", "one chance for all cycles; Wilson on trials", &words),
    ];
    let (passed, common, dirty) = truth_of(deviation);
    let first = passed[0];
    Setting::new(claims, move |draw| {
        let (mut clusters, mut sums) = (Vec::new(), ClusterSums::default());
        for _ in 0..orders {
            let (steps, (contaminated, made)) = order(draw, deviation);
            clusters.push(steps);
            sums.add(made, contaminated);
        }
        let exits: Vec<Cluster> = clusters.iter().map(|steps| exits_of(steps)).collect();
        let rows = aalen_johansen_clustered(&clusters, LEVEL).rows;
        let mut scores: Vec<_> =
            [0, 2, 4].map(|cycle| covered(&rows[cycle].event, passed[cycle])).into();
        scores.push(covered(&rows[0].competing[0], REJECT * (1.0 - first)));
        scores.push(covered(&rows[0].hazard, first));
        scores.push(covered(&effective_share(&sums, LEVEL), dirty));
        scores.push(covered(&geometric_clustered(&exits, LEVEL).chance, common));
        let (passed, ended) = exits_of(&together(&clusters));
        scores.push(covered(&geometric(&passed, &ended, LEVEL).chance, common));
        scores
    })
    .quick(if orders == 30 { 200 } else { 0 })
}

/// Successes at trials, and units that left after them, of units with these chances.
fn trials(
    draw: &mut Draw,
    units: u64,
    most: usize,
    mut chance: impl FnMut(&mut Draw) -> f64,
) -> (Vec<u64>, Vec<u64>) {
    let (mut events, mut censored) = (vec![0; most], vec![0; most]);
    for _ in 0..units {
        let p = chance(draw);
        for trial in 0..most {
            if draw.chance(p) {
                events[trial] += 1;
                break;
            }
            if trial + 1 == most || draw.chance(LEAVES) {
                censored[trial] += 1;
                break;
            }
        }
    }
    (events, censored)
}

fn common_chance(units: u64, chance: f64) -> Setting {
    let words = format!("{units} visits; common chance {chance}");
    let claims = vec![
        Claim::covers("5.2", "geometric chance; Wilson on trials", &words),
        Claim::alarms("5.2", "beta-geometric against geometric; likelihood ratio", &words, 0.05),
    ];
    Setting::new(claims, move |draw| {
        let (events, censored) = trials(draw, units, 8, |_| chance);
        let common = geometric(&events, &censored, LEVEL);
        let mixed = beta_geometric(&events, &censored, LEVEL);
        let test = heterogeneity(&common, &mixed);
        vec![covered(&common.chance, chance), alarm(test.p <= 0.05)]
    })
    .costly()
    .quick(if units == 100 { 200 } else { 0 })
}

fn mixed_chance(units: u64, a: f64, b: f64) -> Setting {
    let words = format!("{units} visits; chances beta({a}; {b}); 10 cycles");
    let method = |of: &str| format!("beta-geometric; {of}; profile likelihood");
    let claims = vec![
        Claim::covers("5.2", &method("mean chance"), &words),
        Claim::covers("5.2", &method("a"), &words),
        Claim::covers("5.2", &method("b"), &words),
    ];
    Setting::new(claims, move |draw| {
        let (events, censored) = trials(draw, units, 10, |draw| beta(draw, a, b));
        let fit = beta_geometric(&events, &censored, LEVEL);
        vec![covered(&fit.mean, a / (a + b)), covered(&fit.a, a), covered(&fit.b, b)]
    })
    .costly()
}

/// True log odds: intercept, cycle number, method of the unit, kind of the cluster.
const BETA: [f64; 4] = [0.2, -0.3, 0.5, -0.4];

/// Rows of the logistic hazard model, one a cluster, cycle and method.
#[derive(Default)]
struct Rows {
    columns: [Vec<f64>; 4],
    trials: Vec<f64>,
    events: Vec<f64>,
    clusters: Vec<u64>,
}

fn logistic_chance(x: [f64; 4]) -> f64 {
    let eta: f64 = x.iter().zip(BETA).map(|(x, b)| x * b).sum();
    1.0 / (1.0 + (-eta).exp())
}

/// Units of a cluster share their luck at a cycle with probability `sharing`, so that trials are
/// correlated while the marginal odds stay those of the model.
fn clustered_trials(draw: &mut Draw, clusters: u64, sharing: f64) -> Rows {
    let mut rows = Rows::default();
    for cluster in 0..clusters {
        let kind = f64::from(u8::from(cluster % 2 == 0));
        let mut left = [1 + draw.index(6), 1 + draw.index(6)];
        for cycle in 0..5_u8 {
            let luck = draw.unit();
            for (method, left) in left.iter_mut().enumerate() {
                let x = [1.0, f64::from(cycle), method as f64, kind];
                let p = logistic_chance(x);
                let mut pass = |_: &usize| {
                    let own = if draw.chance(sharing) { luck } else { draw.unit() };
                    own < p
                };
                let passed = (0..*left).filter(&mut pass).count();
                if *left > 0 {
                    rows.columns.iter_mut().zip(x).for_each(|(column, x)| column.push(x));
                    rows.trials.push(*left as f64);
                    rows.events.push(passed as f64);
                    rows.clusters.push(cluster);
                }
                *left -= passed;
            }
        }
    }
    rows
}

fn regression(clusters: u64, sharing: f64) -> Setting {
    let words = format!("{clusters} clusters of 2 to 12 visits; shared luck {sharing}");
    let method = |of: &str| format!("discrete logistic; cluster-robust; {of}");
    let claims = ["cycle", "method (within clusters)", "kind (of the cluster)"]
        .map(|of| Claim::covers("5.2", &method(of), &words))
        .into_iter()
        .chain([Claim::covers("5.2", "adjusted curve; passed by cycle 3", &words)])
        .collect();
    let by_trial: Vec<Vec<f64>> = (0..3_u8).map(|cycle| vec![1.0, f64::from(cycle)]).collect();
    let by_unit = vec![vec![1.0, 0.0]];
    let waiting: f64 =
        (0..3_u8).map(|cycle| 1.0 - logistic_chance([1.0, f64::from(cycle), 1.0, 0.0])).product();
    Setting::new(claims, move |draw| {
        let rows = clustered_trials(draw, clusters, sharing);
        let grouped = Grouped {
            columns: &rows.columns,
            trials: &rows.trials,
            events: &rows.events,
            clusters: &rows.clusters,
        };
        let Ok(fit) = discrete_logistic(&grouped, LEVEL) else {
            return vec![None; 4];
        };
        let mut scores: Vec<_> =
            (1..4).map(|column| covered(&fit.coefficients[column], BETA[column])).collect();
        let mix = Mix { by_trial: &by_trial, by_unit: &by_unit, weights: &[1.0] };
        let curve = adjusted_curve(&mix, &fit.beta, &fit.adjusted, LEVEL);
        let at_three = curve.last().filter(|_| fit.converged);
        scores.push(at_three.and_then(|point| covered(&point.succeeded, 1.0 - waiting)));
        scores
    })
    .costly()
}
