//! 5.6: hazards of dirt on a path of stages of which four in ten are skipped.

use super::score::{Claim, Score, Setting, alarm, covered, covered_on_average};
use motetrail::stats::bootstrap::{Resampled, expanded_percentile, poisson_weight};
use motetrail::stats::segment_clusters::ClusterTrials;
use motetrail::stats::segment_first::{Path, first_events};
use motetrail::stats::segment_split::{common_factor, split_test};
use motetrail::stats::{Estimate, SegmentFit, SegmentRow};
use motetrail::synth::draw::Draw;
use std::collections::BTreeMap;

const LEVEL: f64 = 0.95;
/// Chance that nobody looks at a stage.
const SKIPPED: f64 = 0.4;
/// Steps between six stages.
const STEPS: usize = 5;
/// Replicates of the shares' bootstrap; a review has 1,000.
const REPLICATES: u64 = 200;
/// Hazards of the steps, and of the repeat of the last stage.
const USUAL: [f64; STEPS + 1] = [0.05, 0.06, 0.09, 0.24, 0.13, 0.10];
/// The same where dirt is rare and does not enter everywhere.
const RARE: [f64; STEPS + 1] = [0.01, 0.0, 0.02, 0.04, 0.0, 0.01];

pub fn settings() -> Vec<Setting> {
    let mut all = Vec::new();
    for (clusters, size) in [(20, 8), (60, 20), (200, 40)] {
        for sharing in [0.0, 0.2] {
            all.push(hazards(clusters, size, sharing, "usual", USUAL));
        }
    }
    all.push(hazards(60, 20, 0.0, "rare", RARE));
    all.push(hazards(200, 40, 0.2, "rare", RARE));
    for (clusters, size) in [(20, 8), (60, 20)] {
        all.push(shares(clusters, size));
    }
    for factor in [1.0, 1.5] {
        for sharing in [0.0, 0.2] {
            all.push(caps(factor, sharing));
        }
    }
    all.push(loads(0.0));
    all.push(loads(0.05));
    all
}

/// A row for every pair of stages, the repeat of the last stage after them.
fn rows() -> Vec<SegmentRow> {
    let mut rows = Vec::new();
    let row = |exposure| SegmentRow { exposure, fixed: 0.0, n: 0.0, events: 0.0 };
    for from in 0..STEPS {
        for to in from + 1..=STEPS {
            rows.push(row((0..=STEPS)
                .map(|at| f64::from(u8::from(at >= from && at < to)))
                .collect()));
        }
    }
    rows.push(row((0..=STEPS).map(|at| f64::from(u8::from(at == STEPS))).collect()));
    rows
}

/// The row of a passage: an end face is on its way through all stages, skipped ones unseen; of four
/// passages one is a repeat.
fn drawn_row(draw: &mut Draw) -> usize {
    if draw.chance(0.25) {
        return STEPS * (STEPS + 1) / 2;
    }
    loop {
        let seen: Vec<usize> = (0..=STEPS).filter(|_| !draw.chance(SKIPPED)).collect();
        if seen.len() >= 2 {
            let at = draw.index(seen.len() - 1);
            let (from, to) = (seen[at], seen[at + 1]);
            let before: usize = (0..from).map(|stage| STEPS - stage).sum();
            return before + to - from - 1;
        }
    }
}

fn chance(row: &SegmentRow, hazards: &[f64]) -> f64 {
    1.0 - (-row.exposure.iter().zip(hazards).map(|(x, h)| x * h).sum::<f64>()).exp()
}

/// Passages in clusters. With probability `sharing` a passage shares the luck of its cluster, so that
/// passages are alike while every chance stays what it is.
fn passages(
    draw: &mut Draw,
    (clusters, size): (u64, usize),
    sharing: f64,
    rows: &mut [SegmentRow],
    hazards: &dyn Fn(&mut Draw, usize) -> (usize, f64),
) -> Vec<ClusterTrials> {
    let mut trials = Vec::new();
    for cluster in 0..clusters {
        let luck = draw.unit();
        for _ in 0..1 + draw.index(2 * size - 1) {
            let kind = drawn_row(draw);
            let (row, chance) = hazards(draw, kind);
            let own = if draw.chance(sharing) { luck } else { draw.unit() };
            let events = f64::from(u8::from(own < chance));
            rows[row].n += 1.0;
            rows[row].events += events;
            trials.push(ClusterTrials { cluster, row, n: 1.0, events });
        }
    }
    trials
}

/// A fit with the limits of every segment that stands alone.
fn fitted(rows: &[SegmentRow], trials: &[ClusterTrials]) -> (SegmentFit, Vec<Option<Estimate>>) {
    let fit = SegmentFit::of(rows, STEPS + 1);
    let wider = fit.inflation(trials, LEVEL);
    let interval = |segment: usize| {
        let group = fit.group_of(segment).filter(|g| fit.groups[*g].len() == 1)?;
        Some(fit.interval(group, LEVEL, wider.by_group[group]).chance)
    };
    let found = (0..=STEPS).map(interval).collect();
    (fit, found)
}

fn hazards(
    clusters: u64,
    size: usize,
    sharing: f64,
    name: &str,
    truth: [f64; STEPS + 1],
) -> Setting {
    let words = format!("{clusters} site-weeks of {size} passages; shared luck {sharing}; {name}");
    let method = |of: &str| format!("entry; profile likelihood over site-weeks; {of}");
    let claims = ["all steps", "first step", "fourth step", "repeat"]
        .map(|of| Claim::covers("5.6", &method(of), &words));
    Setting::new(claims.to_vec(), move |draw| {
        let mut table = rows();
        let by_row: Vec<f64> = table.iter().map(|row| chance(row, &truth)).collect();
        let trials =
            passages(draw, (clusters, size), sharing, &mut table, &|_, row| (row, by_row[row]));
        let (_, found) = fitted(&table, &trials);
        let own = |segment: usize| 1.0 - (-truth[segment]).exp();
        let steps = (0..STEPS).filter_map(|at| Some((found[at].as_ref()?, own(at))));
        let one = |at: usize| found[at].as_ref().and_then(|found| covered(found, own(at)));
        vec![covered_on_average(steps), one(0), one(3), one(STEPS)]
    })
    .costly()
    .quick(if clusters == 60 { 150 } else { 0 })
}

/// Shares of all dirt by step, from these events.
fn shared(events: &[f64], hazards: &[f64], rows: &[SegmentRow]) -> Vec<f64> {
    let path = |(row, events): (&SegmentRow, &f64)| Path {
        steps: (0..=STEPS).filter(|at| row.exposure[*at] > 0.0).collect(),
        events: *events,
    };
    let paths: Vec<Path> = rows.iter().zip(events).map(path).collect();
    let all: f64 = events.iter().sum();
    first_events(&paths, hazards).into_iter().map(|own| own / all).collect()
}

fn by_segment(fit: &SegmentFit) -> Vec<f64> {
    let mut hazards = vec![0.0; STEPS + 1];
    for (group, members) in fit.groups.iter().enumerate() {
        for segment in members {
            hazards[*segment] = fit.hazard(group) / members.len() as f64;
        }
    }
    hazards
}

fn shares(clusters: u64, size: usize) -> Setting {
    let words = format!("{clusters} site-weeks of {size} passages; shared luck 0.2; usual");
    let method = |of: &str| format!("share of dirt; resampled site-weeks; {of}");
    let claims = ["fourth step", "repeat"].map(|of| Claim::covers("5.6", &method(of), &words));
    // What the paths of a great many end faces come to.
    let mut many = Draw::stream(1, 1);
    let mut expected = vec![0.0; rows().len()];
    for _ in 0..400_000 {
        expected[drawn_row(&mut many)] += 1.0;
    }
    for (row, expected) in rows().iter().zip(&mut expected) {
        *expected *= chance(row, &USUAL);
    }
    let truth = shared(&expected, &USUAL, &rows());
    Setting::new(claims.to_vec(), move |draw| {
        let mut table = rows();
        let by_row: Vec<f64> = table.iter().map(|row| chance(row, &USUAL)).collect();
        let trials =
            passages(draw, (clusters, size), 0.2, &mut table, &|_, row| (row, by_row[row]));
        let fit = SegmentFit::of(&table, STEPS + 1);
        let value = |fit: &SegmentFit| -> Option<Vec<f64>> {
            let events: Vec<f64> = fit.counts().iter().map(|(_, events)| *events).collect();
            let any = events.iter().any(|events| *events > 0.0);
            any.then(|| shared(&events, &by_segment(fit), &table))
        };
        let Some(found) = value(&fit) else { return vec![None; 2] };
        let seed = (draw.unit() * 1e15) as u64;
        let drawn: Vec<Option<Vec<f64>>> = (0..REPLICATES)
            .map(|replicate| {
                let mut weights = BTreeMap::new();
                let mut counts = vec![(0.0, 0.0); table.len()];
                for trial in &trials {
                    let weight: f64 = *weights
                        .entry(trial.cluster)
                        .or_insert_with(|| poisson_weight(seed, replicate, trial.cluster).into());
                    counts[trial.row].0 += weight;
                    counts[trial.row].1 += weight * trial.events;
                }
                value(&fit.refitted(&counts))
            })
            .collect();
        let scored = |at: usize| -> Option<Score> {
            let own: Vec<Option<f64>> =
                drawn.iter().map(|all| all.as_ref().map(|all| all[at])).collect();
            let of = Resampled { value: Some(found[at]), n: 1.0, events: 1, clusters };
            covered(&expanded_percentile(of, &own, LEVEL), truth[at])
        };
        vec![scored(3), scored(STEPS)]
    })
    .costly()
}

fn caps(factor: f64, sharing: f64) -> Setting {
    let words = format!("60 site-weeks of 20 passages; shared luck {sharing}; factor {factor}");
    let mut claims =
        vec![Claim::covers("5.6", "cap factor; profile likelihood over the scatter", &words)];
    if factor == 1.0 {
        let tests = ["cap factor; likelihood ratio", "cap by step; likelihood ratio"];
        claims.extend(tests.map(|test| Claim::alarms("5.6", test, &words, 0.05)));
    }
    Setting::new(claims, move |draw| {
        let single = rows();
        let mut table: Vec<SegmentRow> = single.iter().chain(&single).cloned().collect();
        let half = single.len();
        let capped: Vec<bool> = (0..table.len()).map(|row| row >= half).collect();
        let times = |at: usize| if at >= half { factor } else { 1.0 };
        let scaled = |at: usize| USUAL.map(|hazard| hazard * times(at));
        let by_row: Vec<f64> =
            (0..table.len()).map(|at| chance(&single[at % half], &scaled(at))).collect();
        let trials = passages(draw, (60, 20), sharing, &mut table, &|draw, kind| {
            let row = if draw.chance(0.4) { kind + half } else { kind };
            (row, by_row[row])
        });
        let scatter = SegmentFit::of(&table, STEPS + 1).inflation(&trials, LEVEL).pooled;
        let found = common_factor(&table, &capped, STEPS + 1, LEVEL, scatter);
        let parts: Vec<usize> = capped.iter().map(|capped| usize::from(*capped)).collect();
        let split = split_test(&table, &parts, STEPS + 1, scatter);
        vec![
            covered(&found.factor, factor),
            found.p.and_then(|p| alarm(p <= 0.05)),
            split.and_then(|test| alarm(test.p <= 0.05)),
        ]
    })
    .costly()
}

/// A hazard for each mating in between, beside those of the steps.
fn loads(truth: f64) -> Setting {
    let words = format!("1200 passages of 0 to 3 matings; {truth} per mating");
    let mut claims = vec![Claim::covers("5.6", "entry per mating; profile likelihood", &words)];
    if truth == 0.0 {
        claims.push(Claim::alarms("5.6", "entry per mating; likelihood ratio", &words, 0.05));
    }
    Setting::new(claims, move |draw| {
        let single = rows();
        let mut table: Vec<SegmentRow> = Vec::new();
        for matings in 0..4u8 {
            for row in &single {
                let mut row = row.clone();
                row.exposure.push(f64::from(matings));
                table.push(row);
            }
        }
        let hazards: Vec<f64> = USUAL.into_iter().chain([truth]).collect();
        let by_row: Vec<f64> = table.iter().map(|row| chance(row, &hazards)).collect();
        passages(draw, (60, 20), 0.0, &mut table, &|draw, kind| {
            let row = kind + draw.index(4) * single.len();
            (row, by_row[row])
        });
        let fit = SegmentFit::of(&table, STEPS + 2);
        let Some(group) = fit.group_of(STEPS + 1) else { return vec![None; 2] };
        let found = fit.interval(group, LEVEL, 1.0);
        vec![covered(&found.hazard, truth), alarm(fit.against_zero(group, 1.0) <= 0.05)]
    })
    .costly()
}
