//! 5.6: the share of all dirt that enters on each step, and what an avoided percentage point would
//! save there, both with intervals from resampled site-weeks.
//!
//! A site-week enters a replicate a Poisson number of times with all its passages; the model is fitted
//! again. The share of the cost of faults that is associated with skipped looks is drawn normally from
//! 5.5's interval; costs per look, cleaning and fault are taken as observed.

use rayon::prelude::*;

use super::declared::{By, Own, Quantity, Reason, Row, Table};
use super::fit::Subset;
use super::money::{Arrival, Associated, arrivals};
use crate::derive::DeriveError;
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::results::Money;
use crate::measures::skipped_cost;
use crate::measures::skipped_cost::draws::REPLICATES;
use crate::measures::skipped_cost::rank::{Saving, rank};
use crate::stats::SegmentFit;
use crate::stats::bootstrap::{Replicate, Resampled, expanded_percentile, uniform};
use crate::stats::quantile::{normal_quantile, upper_normal_quantile};
use crate::stats::segment_first::{Path, first_events};

/// What tells the draws of the associated share from the weights of the same seed.
const SHARE_STREAM: u64 = 0x656e_7472_7921;
/// A percentage point.
const POINT: f64 = 0.01;

/// What one fit says of every group.
struct Effects {
    /// Share of all dirt; none where it cannot be told from a neighbour's.
    share: Vec<Option<f64>>,
    /// Dirty arrivals that an avoided point saves, by group and stage of arrival.
    avoided: Vec<Vec<f64>>,
}

/// Adds the rows of both.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn shares_and_savings(
    evidence: &Evidence,
    whole: &Subset,
    skipped: &skipped_cost::Table,
    table: &mut Table,
) -> Result<(), DeriveError> {
    let seed = evidence.rules().seed;
    let stages = whole.lifecycle.stages.len();
    let observed = effects(whole, &whole.fit, stages);
    let weeks = Weeks::of(whole);
    let clusters = weeks.names.len() as u64;
    let draws: Vec<Effects> = (0..REPLICATES)
        .into_par_iter()
        .map(|replicate| effects(whole, &weeks.resampled(whole, seed, replicate), stages))
        .collect();
    for group in 0..whole.fit.groups.len() {
        let replicates: Vec<Option<f64>> = draws.iter().map(|draw| draw.share[group]).collect();
        let of = (observed.share[group], clusters);
        let row = share_row(evidence, whole, group, of, &replicates);
        let few = clusters < evidence.rules().few_clusters.into();
        table.rows.push(row.flagged(few.then_some(Flag::FewClusters)));
    }
    let costs = arrivals(evidence, &whole.lifecycle.stages)?;
    let associated = Associated::of(skipped).map(|(share, row)| (share, row.flags.as_slice()));
    let saved = Saved { observed: &observed, draws: &draws, costs: &costs, associated, clusters };
    let groups = 0..whole.fit.groups.len();
    let savings: Vec<Saving<Row>> =
        groups.map(|group| saving(evidence, whole, group, &saved)).collect();
    if costs.iter().any(|arrival| arrival.cleaning > 0.0 || arrival.downstream > 0.0) {
        let ranked = rank(with_first(savings), |row: &mut Row, standing| {
            row.own.rank = Some(standing.rank);
            row.own.running_share = standing.running_share;
            row.own.top_three = standing.top_three;
        });
        table.rows.extend(ranked);
    }
    Ok(())
}

/// With the share of replicates in which each firm row saves the most.
fn with_first(mut savings: Vec<Saving<Row>>) -> Vec<Saving<Row>> {
    let replicates = savings.iter().map(|saving| saving.draws.len()).max().unwrap_or(0);
    let firm: Vec<usize> =
        (0..savings.len()).filter(|place| savings[*place].row.is_firm()).collect();
    let mut times = vec![0u32; savings.len()];
    for replicate in 0..replicates {
        let drawn = |place: &usize| savings[*place].draws.get(replicate).copied().flatten();
        let best = firm.iter().filter_map(|place| Some((drawn(place)?, *place)));
        // Of equal savings the step that comes first in the lifecycle.
        if let Some((_, place)) = best.max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1))) {
            times[place] += 1;
        }
    }
    for place in firm.into_iter().filter(|_| replicates > 0) {
        savings[place].row.own.probability = Some(f64::from(times[place]) / replicates as f64);
    }
    savings
}

/// The site-weeks of a subset, and for every trial the place of its site-week.
struct Weeks {
    names: Vec<u64>,
    places: Vec<usize>,
}

impl Weeks {
    fn of(whole: &Subset) -> Weeks {
        let trials = &whole.grouped.trials;
        let mut names: Vec<u64> = trials.iter().map(|trial| trial.cluster).collect();
        names.sort_unstable();
        names.dedup();
        let place = |cluster: u64| names.partition_point(|name| *name < cluster);
        let places = trials.iter().map(|trial| place(trial.cluster)).collect();
        Weeks { names, places }
    }

    /// The model fitted to one resample.
    fn resampled(&self, whole: &Subset, seed: u64, replicate: u64) -> SegmentFit {
        let drawn = Replicate::of(seed, replicate);
        let weight = |name: &u64| f64::from(drawn.weight(*name));
        let weights: Vec<f64> = self.names.iter().map(weight).collect();
        let mut counts = vec![(0.0, 0.0); whole.grouped.rows.len()];
        for (trial, place) in whole.grouped.trials.iter().zip(&self.places) {
            let (weight, sum) = (weights[*place], &mut counts[trial.row]);
            *sum = (sum.0 + weight * trial.n, sum.1 + weight * trial.events);
        }
        whole.fit.refitted(&counts)
    }
}

/// What a fit of the subset's design says.
fn effects(whole: &Subset, fit: &SegmentFit, stages: usize) -> Effects {
    let groups = fit.groups.len();
    // A sum is split evenly among its steps; where they are neighbours that changes nothing.
    let mut hazards = vec![0.0; whole.lifecycle.segments()];
    for (group, members) in fit.groups.iter().enumerate() {
        for segment in members {
            hazards[*segment] = fit.hazard(group) / members.len() as f64;
        }
    }
    let counts = fit.counts();
    let paths: Vec<Path> = whole
        .grouped
        .ends
        .iter()
        .zip(&counts)
        .map(|(ends, (_, events))| Path { steps: whole.lifecycle.path(*ends), events: *events })
        .collect();
    let first = first_events(&paths, &hazards);
    let dirty: f64 = paths.iter().map(|path| path.events).sum();
    let open = |segment: &usize| fit.group_of(*segment).is_some_and(|g| !fit.is_identified(g));
    // Where a step cannot be told from another, the shares of all that dirt passes with it cannot.
    let loose: Vec<&Path> =
        paths.iter().filter(|path| path.events > 0.0 && path.steps.iter().any(open)).collect();
    let share = |members: &Vec<usize>| {
        let tied = loose.iter().any(|path| path.steps.iter().any(|step| members.contains(step)));
        let entered: f64 = members.iter().map(|segment| first[*segment]).sum();
        (dirty > 0.0 && !tied).then(|| (entered / dirty).clamp(0.0, 1.0))
    };
    let mut avoided = vec![vec![0.0; stages]; groups];
    for ((ends, path), (n, _)) in whole.grouped.ends.iter().zip(&paths).zip(&counts) {
        let whole_hazard: f64 = path.steps.iter().map(|step| hazards[*step]).sum();
        let mut passed: Vec<usize> =
            path.steps.iter().filter_map(|step| fit.group_of(*step)).collect();
        passed.sort_unstable();
        passed.dedup();
        for group in passed {
            let hazard = fit.hazard(group);
            let chance = -(-hazard).exp_m1();
            let others = (-(whole_hazard - hazard).max(0.0)).exp();
            avoided[group][ends.1 as usize] += n * POINT.min(chance) * others;
        }
    }
    Effects { share: fit.groups.iter().map(share).collect(), avoided }
}

fn share_row(
    evidence: &Evidence,
    whole: &Subset,
    group: usize,
    (value, clusters): (Option<f64>, u64),
    replicates: &[Option<f64>],
) -> Row {
    let dirty: f64 = whole.grouped.rows.iter().map(|row| row.events).sum();
    let of = Resampled { value, n: dirty, events: dirty as u64, clusters };
    let mut estimate = expanded_percentile(of, replicates, evidence.rules().level);
    if value.is_none() {
        (estimate.low, estimate.high) = (None, None);
    }
    // Replicates without dirt leave nothing to share; that they were left out is no warning here.
    estimate.warnings.clear();
    let (place, own) = whole.about(group);
    let row = Row::of(By::Step, place, Quantity::ShareOfDirt, &estimate, own);
    let thin = dirty < evidence.rules().least_count.into();
    let row = row.flagged(whole.flags(evidence, group));
    let row = row.flagged(thin.then_some(Flag::Thin));
    let row = row.flagged((value.is_none() && !thin).then_some(Flag::NotIdentified));
    Row { n: dirty, ..row }
}

/// What savings are reckoned from.
#[derive(Clone, Copy)]
struct Saved<'a> {
    /// Of the passages as they are, and of every resample of them.
    observed: &'a Effects,
    draws: &'a [Effects],
    /// By stage of arrival.
    costs: &'a [Arrival],
    /// The associated share of the cost of faults, and the flags of the row that it is from.
    associated: Option<(Associated, &'a [Flag])>,
    /// Site-weeks.
    clusters: u64,
}

/// What an avoided percentage point saves over the months looked back.
fn saving(evidence: &Evidence, whole: &Subset, group: usize, saved: &Saved) -> Saving<Row> {
    let Saved { observed, draws, costs, associated, clusters } = *saved;
    let (seed, level) = (evidence.rules().seed, evidence.rules().level);
    let money = |effects: &Effects, share: f64| {
        let arrivals = effects.avoided[group].iter().zip(costs);
        let of = |part: fn(&Arrival) -> f64| {
            arrivals.clone().map(|(avoided, cost)| avoided * part(cost)).sum::<f64>()
        };
        (of(|arrival| arrival.cleaning), share * of(|arrival| arrival.downstream))
    };
    let share = associated.map_or(0.0, |(associated, _)| associated.share);
    let (cleaning, downstream) = money(observed, share);
    let drawn = |(replicate, draw): (u64, &Effects)| {
        let share = associated.map_or(0.0, |(Associated { share, low, high }, _)| {
            let error = (high - low) / (2.0 * normal_quantile(level));
            share + error * upper_normal_quantile(uniform(seed ^ SHARE_STREAM, replicate, 0))
        });
        let (cleaning, downstream) = money(draw, share);
        Some(cleaning + downstream)
    };
    let replicates: Vec<Option<f64>> = (0..).zip(draws).map(drawn).collect();
    let (n, events) = whole.fit.passing(group);
    let value = whole.fit.is_identified(group).then_some(cleaning + downstream);
    let of = Resampled { value, n, events: events as u64, clusters };
    let mut estimate = expanded_percentile(of, &replicates, level);
    if value.is_none() {
        (estimate.low, estimate.high) = (None, None);
    }
    estimate.warnings.clear();
    let (place, about) = whole.about(group);
    let whole_units = |amount: f64| Some(Money(amount.round() as i64));
    let own = Own {
        reason: if associated.is_none() { Some(Reason::CleaningAlone) } else { about.reason },
        cleaning_cost: whole_units(cleaning),
        downstream_cost: whole_units(downstream),
        ..about
    };
    let mut row = Row::of(By::Step, place, Quantity::PointSaving, &estimate, own);
    (row.n, row.events) = (n, Some(events as i64));
    for value in [&mut row.estimate, &mut row.low, &mut row.high] {
        *value = value.map(f64::round);
    }
    let shared = associated.map_or(&[Flag::Thin][..], |(_, flags)| flags);
    let few = (clusters < evidence.rules().few_clusters.into()).then_some(Flag::FewClusters);
    let row = row.flagged(whole.flags(evidence, group)).flagged(shared.iter().copied());
    Saving { row: row.flagged(few), draws: replicates }
}
