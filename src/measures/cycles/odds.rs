//! 5.2: the odds of passing a cycle, method against method with all else equal.
//!
//! Discrete-time logistic regression of every cycle made: its number, its method, stage, family and
//! the zone that failed first; variance robust over site-weeks. From it the odds ratios, and for
//! each method the share that would pass by cycle if it had been used on all end faces that were
//! cleaned (g-formula over the observed stages, families and zones, rejection left out).

use std::collections::BTreeMap;

use super::design::{Design, Factor};
use super::trials::{FACTORS, Trial, cycle_trials};
use crate::derive::DeriveError;
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::payback::Contrast;
use crate::measures::table::{Group, Row, Table, Unit, Value};
use crate::stats::Estimate;
use crate::stats::adjusted_curve::{Mix, adjusted_curve};
use crate::stats::discrete_logistic::{Grouped, Logistic, discrete_logistic};
use crate::stats::regression::RegressionError;

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
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn odds_and_curves(
    evidence: &Evidence,
    table: &mut Table,
) -> Result<(), DeriveError> {
    let trials = cycle_trials(evidence)?;
    let rules = evidence.rules();
    let fitted = Design::of(&trials, rules.least_count.into())
        .and_then(|design| fitted(design, rules.level));
    left_out(&trials, fitted.as_ref(), table);
    let Some(fitted) = fitted else { return Ok(()) };
    let frame = evidence.frame("cycle_trials")?;
    let word = |factor: usize, place: u32| {
        frame.words(FACTORS[factor]).get(place as usize).cloned().unwrap_or_default()
    };
    odds(&fitted, &word, table);
    curves(evidence, &fitted, &word, table);
    Ok(())
}

/// Cycles that the regression leaves out because their level is too rare.
fn left_out(trials: &[Trial], fitted: Option<&Fitted>, table: &mut Table) {
    let sum = |trials: &[Trial]| trials.iter().map(|trial| trial.trials as f64).sum::<f64>();
    let (all, kept) = (sum(trials), fitted.map_or(0.0, |fitted| sum(&fitted.design.kept)));
    let method = "logistic regression, cluster-robust";
    let group = Group::default();
    let mut row = Row::figure("fleet", group, "cycles-left-out", Unit::Count, all - kept, method);
    row.n = all;
    let flag = match fitted {
        None => Some(Flag::NotIdentified),
        Some(fitted) => (!fitted.fit.converged).then_some(Flag::NotConverged),
    };
    table.rows.push(row.with(table.fill(&[])).flagged(flag));
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
    let mut row = design.leading(trial.cycle, trial.places[3]);
    row.extend(design.trailing(&trial.places));
    row
}

/// The odds ratio of every level against its factor's reference, factor by factor in the order of
/// the columns.
fn odds(fitted: &Fitted, word: &dyn Fn(usize, u32) -> String, table: &mut Table) {
    let design = &fitted.design;
    let [stage, family, zone, method] = &design.factors;
    let factors: [(&'static str, &Factor, usize); 5] = [
        ("cycle", &design.cycle, FACTORS.len()),
        ("treatment", method, 3),
        ("stage", stage, 0),
        ("family", family, 1),
        ("zone", zone, 2),
    ];
    // The intercept comes first.
    let mut columns = fitted.place.iter().skip(1);
    for (by, factor, at) in factors {
        let called = |place: u32| match by {
            "cycle" => place.to_string(),
            _ => word(at, place),
        };
        for level in factor.columns() {
            let place = columns.next().copied().flatten();
            let estimate = place.and_then(|place| fitted.fit.coefficients.get(place));
            let mut row = odds_ratio(by, estimate);
            (row.n, row.events) = (level.trials as f64, Some(level.passed as i64));
            let mut own = vec![("against", Value::Text(called(factor.reference)))];
            match by {
                "cycle" => own.push(("cycle", Value::Count(level.place.into()))),
                "zone" => own.push(("zone", Value::Text(called(level.place)))),
                _ => row.group = Group::of(&[FACTORS[at]], &[called(level.place)]),
            }
            table.rows.push(row.with(table.fill(&own)));
        }
    }
}

/// A log odds ratio as an odds ratio; without one, its level cannot be told from others.
fn odds_ratio(by: &'static str, log: Option<&Estimate>) -> Row {
    let Some(log) = log else {
        let method = "logistic regression, cluster-robust Wald";
        let row = Row::figure(by, Group::default(), "odds-ratio", Unit::Ratio, f64::NAN, method);
        return row.flagged([Flag::NotIdentified]);
    };
    let mut row = Row::of(by, Group::default(), "odds-ratio", Unit::Ratio, log);
    for value in [&mut row.estimate, &mut row.low, &mut row.high] {
        *value = value.map(f64::exp).filter(|value| value.is_finite());
    }
    row
}

/// The share of all end faces cleaned that each method would have passed by cycle.
fn curves(
    evidence: &Evidence,
    fitted: &Fitted,
    word: &dyn Fn(usize, u32) -> String,
    table: &mut Table,
) {
    let (design, fit) = (&fitted.design, &fitted.fit);
    if !fit.converged {
        return;
    }
    let kept = |row: Vec<f64>, from: usize| -> Vec<f64> {
        let places = fitted.place.iter().skip(from);
        row.into_iter().zip(places).filter_map(|(x, place)| place.map(|_| x)).collect()
    };
    let first = design.leading(1, design.factors[3].reference).len();
    let mut mix: BTreeMap<[u32; 3], f64> = BTreeMap::new();
    for trial in design.kept.iter().filter(|trial| trial.cycle == 1) {
        let [stage, family, zone, _] = trial.places;
        *mix.entry([stage, family, zone]).or_default() += trial.trials as f64;
    }
    let by_unit: Vec<Vec<f64>> =
        mix.keys().map(|[a, b, c]| kept(design.trailing(&[*a, *b, *c, 0]), first)).collect();
    let weights: Vec<f64> = mix.values().copied().collect();
    for method in &design.factors[3].levels {
        let by_trial: Vec<Vec<f64>> =
            (1..=LAST_CYCLE).map(|cycle| kept(design.leading(cycle, method.place), 0)).collect();
        let mix = Mix { by_trial: &by_trial, by_unit: &by_unit, weights: &weights };
        let curve = adjusted_curve(&mix, &fit.beta, &fit.adjusted, evidence.rules().level);
        let group = Group::of(&["method"], &[word(3, method.place)]);
        for (cycle, point) in (1..).zip(curve) {
            let shown = &point.succeeded;
            let mut row =
                Row::of("treatment", group.clone(), "adjusted-passed-by-cycle", Unit::Share, shown);
            row.events = None;
            let few = fit.clusters < evidence.rules().few_clusters as usize;
            let own =
                [("cycle", Value::Count(cycle)), ("at_risk", Value::Count(method.trials as i64))];
            table.rows.push(row.with(table.fill(&own)).flagged(few.then_some(Flag::FewClusters)));
        }
    }
}

/// The log odds ratio of a method against another, all else equal; none where either is too rare, the
/// fit did not arrive, or there are too few clusters to say how sure it is.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn contrast(
    evidence: &Evidence,
    method: &str,
    instead_of: &str,
) -> Result<Option<Contrast>, DeriveError> {
    let trials = cycle_trials(evidence)?;
    let rules = evidence.rules();
    let fitted = Design::of(&trials, rules.least_count.into())
        .and_then(|design| fitted(design, rules.level));
    let Some(fitted) = fitted else { return Ok(None) };
    let (design, fit) = (&fitted.design, &fitted.fit);
    let words = evidence.frame("cycle_trials")?.words(FACTORS[3]);
    let factor = &design.factors[3];
    // Outer none: not in the fit; inner none: the method that the others are compared with.
    let column = |word: &str| -> Option<Option<usize>> {
        let place = words.iter().position(|own| own == word)? as u32;
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
    let (Some(one), Some(other)) = (column(method), column(instead_of)) else { return Ok(None) };
    let known = |at: Option<usize>| at.is_none_or(|at| fit.coefficients[at].value.is_some());
    let firm = fit.converged && fit.clusters >= rules.few_clusters as usize;
    if !(firm && known(one) && known(other)) {
        return Ok(None);
    }
    let beta = |at: Option<usize>| at.map_or(0.0, |at| fit.beta[at]);
    let covariance =
        |a: Option<usize>, b: Option<usize>| a.zip(b).map_or(0.0, |(a, b)| fit.adjusted[a][b]);
    let variance = covariance(one, one) + covariance(other, other) - 2.0 * covariance(one, other);
    let contrast = Contrast { log_odds: beta(one) - beta(other), se: variance.max(0.0).sqrt() };
    Ok(Some(contrast).filter(|own| own.log_odds.is_finite() && own.se.is_finite()))
}
