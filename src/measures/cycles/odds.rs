//! 5.2: the odds of passing a cycle, method against method with all else equal.
//!
//! Discrete-time logistic regression of every cycle made: its number, its method, stage, family and
//! the zone that failed first; variance robust over site-weeks. From it the odds ratios, and for
//! each method the share that would pass by cycle if it had been used on all end faces that were
//! cleaned (g-formula over the observed stages, families and zones, rejection left out).

use std::collections::BTreeMap;

use super::declared::{By, Own, Quantity, Row, Table};
use super::design::{Design, Factor};
use super::trials::{Covariate, Trial, Trials};
use crate::derive::Listing;
use crate::derive::counts::Column;
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::results::Group;
use crate::stats::Estimate;
use crate::stats::adjusted_curve::{Mix, adjusted_curve};
use crate::stats::discrete_logistic::{Grouped, Logistic, discrete_logistic};
use crate::stats::regression::RegressionError;

/// A contrast of two cleaning methods: the log odds ratio of passing a cycle with its standard error.
#[derive(Clone, Debug, PartialEq)]
pub struct Contrast {
    /// Logarithm of the odds ratio, above 0 where the first method passes more often.
    pub log_odds: f64,
    /// Its standard error, robust over site-weeks.
    pub se: f64,
    /// By cluster of the resamples: how far the logarithm moves, to first order, where it is there once more.
    pub shifts: Vec<(u64, f64)>,
}

/// Last cycle of the adjusted curves: common practice ends there.
const LAST_CYCLE: u32 = 5;

/// A design with its fit; columns that others imply have none.
struct Fitted {
    design: Design,
    /// Place of every column of the design among the fitted ones.
    place: Vec<Option<usize>>,
    fit: Logistic,
}

/// Adds a row a level of every factor, the adjusted curves, and how much was left out.
pub(in crate::measures) fn odds_and_curves(
    evidence: &Evidence,
    trials: &Trials,
    table: &mut Table,
) {
    let rules = evidence.rules();
    let fitted = Design::of(&trials.all, rules.least_count.into())
        .and_then(|design| fitted(design, rules.level));
    left_out(&trials.all, fitted.as_ref(), table);
    if let Some(fitted) = fitted {
        odds(&fitted, trials, table);
        curves(evidence, &fitted, trials, table);
    }
}

/// Cycles that the regression leaves out because their level is too rare.
fn left_out(trials: &[Trial], fitted: Option<&Fitted>, table: &mut Table) {
    let sum = |trials: &[Trial]| trials.iter().map(|trial| trial.trials as f64).sum::<f64>();
    let (all, kept) = (sum(trials), fitted.map_or(0.0, |fitted| sum(&fitted.design.kept)));
    let flag = match fitted {
        None => Some(Flag::NotIdentified),
        Some(fitted) => (!fitted.fit.converged).then_some(Flag::NotConverged),
    };
    let (group, quantity, own) = (Group::default(), Quantity::CyclesLeftOut, Own::default());
    let method = "logistic regression, cluster-robust";
    let row = Row::figure(By::Fleet, group, quantity, all - kept, method, own);
    table.rows.push(Row { n: all, ..row }.flagged(flag));
}

/// Fits; a column that the ones before it imply is left out, as long as there is one.
fn fitted(design: Design, level: f64) -> Option<Fitted> {
    let rows: Vec<Vec<f64>> = design.kept.iter().map(|trial| values(&design, trial)).collect();
    let order = rows.first()?.len();
    let column = |at: usize| rows.iter().map(|row| row[at]).collect::<Vec<f64>>();
    let mut kept: Vec<usize> = (0..order).collect();
    let mut columns: Vec<Vec<f64>> = kept.iter().map(|at| column(*at)).collect();
    let of = |value: fn(&Trial) -> u64| -> Vec<f64> {
        design.kept.iter().map(|trial| value(trial) as f64).collect()
    };
    let (trials, events) = (of(|trial| trial.trials), of(|trial| trial.passed));
    let clusters: Vec<u64> = design.kept.iter().map(|trial| trial.cluster).collect();
    loop {
        let grouped =
            Grouped { columns: &columns, trials: &trials, events: &events, clusters: &clusters };
        match discrete_logistic(&grouped, level) {
            Ok(fit) => {
                let place = (0..order).map(|at| kept.iter().position(|own| *own == at)).collect();
                return Some(Fitted { design, place, fit });
            }
            Err(RegressionError::Dependent { column }) if column < kept.len() => {
                kept.remove(column);
                columns.remove(column);
            }
            Err(_) => return None,
        }
    }
}

/// All columns of a trial.
fn values(design: &Design, trial: &Trial) -> Vec<f64> {
    let mut row = design.leading(trial.cycle, trial.place(Covariate::Method));
    row.extend(design.trailing(trial));
    row
}

/// The odds ratio of every level against its factor's reference, factor by factor in the order of
/// the columns.
fn odds(fitted: &Fitted, trials: &Trials, table: &mut Table) {
    let design = &fitted.design;
    // The intercept comes first.
    let mut columns = fitted.place.iter().skip(1);
    let mut add = |by: By, factor: &Factor, name: &dyn Fn(u32) -> (Group, Own)| {
        for level in factor.columns() {
            let place = columns.next().copied().flatten();
            let estimate = place.and_then(|place| fitted.fit.coefficients.get(place));
            let (group, own) = name(level.place);
            let row = odds_ratio((by, group, own), estimate);
            let (n, events) = (level.trials as f64, Some(level.passed as i64));
            table.rows.push(Row { n, events, ..row });
        }
    };
    let first = design.cycle.reference.to_string();
    add(By::Cycle, &design.cycle, &|place| {
        let own = Own { cycle: Some(place), against: Some(first.clone()), ..Own::default() };
        (Group::default(), own)
    });
    for (by, of) in [
        (By::Treatment, Covariate::Method),
        (By::Stage, Covariate::Stage),
        (By::Family, Covariate::Family),
        (By::Zone, Covariate::Zone),
    ] {
        let factor = design.factor(of);
        let against = trials.word(of, factor.reference);
        add(by, factor, &|place| {
            let own = Own { against: Some(against.clone()), ..Own::default() };
            let word = Some(trials.word(of, place));
            match of {
                Covariate::Method => (Group { treatment: word, ..Group::default() }, own),
                Covariate::Stage => (Group { stage: word, ..Group::default() }, own),
                Covariate::Family => (Group { family: word, ..Group::default() }, own),
                Covariate::Zone => (Group::default(), Own { zone: Column::of(place), ..own }),
            }
        });
    }
}

/// A log odds ratio as an odds ratio; without one, its level cannot be told from others.
fn odds_ratio((by, group, own): (By, Group, Own), log: Option<&Estimate>) -> Row {
    let Some(log) = log else {
        let method = "logistic regression, cluster-robust Wald";
        let row = Row::figure(by, group, Quantity::OddsRatio, f64::NAN, method, own);
        return row.flagged([Flag::NotIdentified]);
    };
    let mut row = Row::of(by, group, Quantity::OddsRatio, log, own);
    for value in [&mut row.estimate, &mut row.low, &mut row.high] {
        *value = value.map(f64::exp).filter(|value| value.is_finite());
    }
    row
}

/// The share of all end faces cleaned that each method would have passed by cycle.
fn curves(evidence: &Evidence, fitted: &Fitted, trials: &Trials, table: &mut Table) {
    let (design, fit) = (&fitted.design, &fitted.fit);
    if !fit.converged {
        return;
    }
    let kept = |row: Vec<f64>, from: usize| -> Vec<f64> {
        let places = fitted.place.iter().skip(from);
        row.into_iter().zip(places).filter_map(|(x, place)| place.map(|_| x)).collect()
    };
    let methods = design.factor(Covariate::Method);
    let first = design.leading(1, methods.reference).len();
    // End faces that are alike in everything but the method: one of their trials, and how many.
    let mut mix: BTreeMap<[u32; 3], (&Trial, f64)> = BTreeMap::new();
    for trial in design.kept.iter().filter(|trial| trial.cycle == 1) {
        let alike = [Covariate::Stage, Covariate::Family, Covariate::Zone];
        let own = mix.entry(alike.map(|of| trial.place(of))).or_insert((trial, 0.0));
        own.1 += trial.trials as f64;
    }
    let by_unit: Vec<Vec<f64>> =
        mix.values().map(|(trial, _)| kept(design.trailing(trial), first)).collect();
    let weights: Vec<f64> = mix.values().map(|(_, weight)| *weight).collect();
    let few = fit.clusters < evidence.rules().few_clusters as usize;
    for method in &methods.levels {
        let by_trial: Vec<Vec<f64>> =
            (1..=LAST_CYCLE).map(|cycle| kept(design.leading(cycle, method.place), 0)).collect();
        let mix = Mix { by_trial: &by_trial, by_unit: &by_unit, weights: &weights };
        let curve = adjusted_curve(&mix, &fit.beta, &fit.adjusted, evidence.rules().level);
        let treatment = Some(trials.word(Covariate::Method, method.place));
        for (cycle, point) in (1..).zip(curve) {
            let group = Group { treatment: treatment.clone(), ..Group::default() };
            let own = Own { cycle: Some(cycle), at_risk: Some(method.trials), ..Own::default() };
            let quantity = Quantity::AdjustedPassedByCycle;
            let row = Row::of(By::Treatment, group, quantity, &point.succeeded, own);
            let row = Row { events: None, ..row };
            table.rows.push(row.flagged(few.then_some(Flag::FewClusters)));
        }
    }
}

/// The log odds ratio of a method against another, all else equal; none where either is too rare, the
/// fit did not arrive, or there are too few clusters to say how sure it is. `cluster` names what the resamples have of a site
/// and a week.
pub(in crate::measures) fn contrast(
    evidence: &Evidence,
    (method, instead_of): (&str, &str),
    cluster: impl Fn(&str, u32) -> u64,
) -> Option<Contrast> {
    let trials = Trials::of(evidence);
    let rules = evidence.rules();
    let fitted = Design::of(&trials.all, rules.least_count.into())
        .and_then(|design| fitted(design, rules.level));
    let fitted = fitted?;
    let (design, fit) = (&fitted.design, &fitted.fit);
    let factor = design.factor(Covariate::Method);
    // Outer none: not in the fit; inner none: the method that the others are compared with.
    let column = |word: &str| -> Option<Option<usize>> {
        let place = trials.method(word)?;
        if !factor.levels.iter().any(|level| level.place == place) {
            return None;
        }
        if place == factor.reference {
            return Some(None);
        }
        let before = 1 + design.cycle.columns().count();
        let at = factor.columns().position(|level| level.place == place)?;
        fitted.place[before + at].map(Some)
    };
    let (Some(one), Some(other)) = (column(method), column(instead_of)) else { return None };
    let known = |at: Option<usize>| at.is_none_or(|at| fit.coefficients[at].value.is_some());
    let firm = fit.converged && fit.clusters >= rules.few_clusters as usize;
    if !(firm && known(one) && known(other)) {
        return None;
    }
    let beta = |at: Option<usize>| at.map_or(0.0, |at| fit.beta[at]);
    let covariance =
        |a: Option<usize>, b: Option<usize>| a.zip(b).map_or(0.0, |(a, b)| fit.adjusted[a][b]);
    let variance = covariance(one, one) + covariance(other, other) - 2.0 * covariance(one, other);
    let sites = Listing::of(&evidence.derived.glossary.site);
    // Several weeks of a site may be one cluster.
    let mut shifts: BTreeMap<u64, f64> = BTreeMap::new();
    for (site_week, shift) in &fit.shifts {
        let of = |at: Option<usize>| at.map_or(0.0, |at| shift[at]);
        // The upper half is the site, the lower one the week.
        if let Some(site) = sites.words.get((site_week >> 32) as usize) {
            *shifts.entry(cluster(site, *site_week as u32)).or_default() += of(one) - of(other);
        }
    }
    let contrast = Contrast {
        log_odds: beta(one) - beta(other),
        se: variance.max(0.0).sqrt(),
        shifts: shifts.into_iter().collect(),
    };
    Some(contrast).filter(|own| own.log_odds.is_finite() && own.se.is_finite())
}
