//! 5.2: one chance of passing for every end face, or a chance that differs between them.
//!
//! Geometric and beta-geometric distributions fitted to the cycle of the first pass; a visit that
//! ended otherwise is censored at the cycles it had. A falling hazard tells that some dirt is
//! stubborn, and the fitted line what to expect of one more cycle.

use super::{Exits, MOST_CYCLES};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::table::{Group, Row, Table, Unit, Value};
use crate::stats::Warning;
use crate::stats::beta_geometric::{BetaGeometric, beta_geometric, heterogeneity};
use crate::stats::geometric::geometric;

/// Adds the fits of one group: the common chance; mean, `a` and `b` of chances that differ and the
/// test between the two; the fitted hazard of every cycle that was made.
///
/// `a` and `b` count cycles: an end face of its first cycle behaves as if `a` had passed and `b` had
/// failed before. Where the data know no `a` and `b` inside, their rows say `not-identified`.
pub(in crate::measures) fn fit_rows(
    evidence: &Evidence,
    by: &'static str,
    group: &Group,
    exits: &Exits,
    table: &mut Table,
) {
    let level = evidence.rules().level;
    let made = || exits.by_cycle.iter().skip(1);
    let passed: Vec<u64> = made().map(|counts| counts[0]).collect();
    let ended = made().map(|counts| counts[1].saturating_add(counts[2]).saturating_add(counts[3]));
    let ended: Vec<u64> = ended.collect();
    let common = geometric(&passed, &ended, level);
    let mixed = beta_geometric(&passed, &ended, level);
    let visits = passed.iter().chain(&ended).fold(0u64, |sum, n| sum.saturating_add(*n));
    let thin = (visits < evidence.rules().least_count.into()).then_some(Flag::Thin);
    let row = |quantity, unit, estimate| Row::of(by, group.clone(), quantity, unit, estimate);
    let edge = mixed.mean.warnings.contains(&Warning::Boundary);
    let unknown = edge.then_some(Flag::NotIdentified);
    let own = table.fill(&[("bracket", Value::Text("censored".to_owned()))]);
    let rows = [
        row("common-chance", Unit::Share, &common.chance),
        row("mean-chance", Unit::Share, &mixed.mean),
        row("chance-a", Unit::Cycles, &mixed.a).flagged(unknown),
        row("chance-b", Unit::Cycles, &mixed.b).flagged(unknown),
    ];
    table.rows.extend(rows.into_iter().map(|row| row.with(own.clone()).flagged(thin)));
    let test = heterogeneity(&common, &mixed);
    let method = "likelihood ratio, p halved at the boundary";
    let quantity = "chances-differ";
    let row = Row::figure(by, group.clone(), quantity, Unit::Count, test.statistic, method);
    let own = table.fill(&[("p", Value::from(Some(test.p)))]);
    table.rows.push(Row { n: visits as f64, ..row }.with(own).flagged(thin));
    if visits > 0 {
        hazards(by, group, (&mixed, passed.len().min(MOST_CYCLES)), thin, table);
    }
}

/// The fitted hazard by cycle; at the edge it is the same at every cycle.
fn hazards(
    by: &'static str,
    group: &Group,
    (fit, cycles): (&BetaGeometric, usize),
    thin: Option<Flag>,
    table: &mut Table,
) {
    for cycle in 1..=cycles {
        let hazard = fit.hazard(cycle as u32);
        let method = "beta-geometric";
        let mut row = Row::figure(by, group.clone(), "fitted-hazard", Unit::Share, hazard, method);
        row.n = fit.mean.n;
        let bracket = Value::Text("censored".to_owned());
        let own = table.fill(&[("cycle", Value::Count(cycle as i64)), ("bracket", bracket)]);
        table.rows.push(row.with(own).flagged(thin));
    }
}
