//! 5.6, Q6: between which lifecycle stages dirt enters.
//!
//! Routine passages from the last known-clean state of an end face to its next first look. A passage
//! stays clean with the chance `exp(-sum of the hazards passed)`, so a skipped stage widens intervals
//! instead of losing the row. Hazards by constrained maximum likelihood with profile-likelihood
//! limits, the allowed deviance widened for site-weeks (`stats::segment_hazard` and its neighbours).
//! Beside each: the same less false alarms, the share of all dirt, what an avoided percentage point
//! saves; by dust cap with a test, by family; per mating and per month in between.

mod fit;
mod loads;
pub(in crate::measures) mod money;
mod passages;
mod shares;

use crate::derive::DeriveError;
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::skipped_cost;
use crate::measures::table::{Group, Row, Table, Unit, Value};
use crate::stats::segment_split::{common_factor, split_test};
use crate::stats::{Estimate, wilson};
use fit::{Subset, entry_rows};
use passages::{Grouped, Lifecycle, Passage, passages};

const OWN: &[&str] = &[
    "from",
    "steps",
    "reason",
    "hazard",
    "hazard_low",
    "hazard_high",
    "deff",
    "clusters",
    "p",
    "cleaning_cost",
    "downstream_cost",
    "rank",
    "running_share",
    "top_three",
    "probability",
];

/// Dirty passages that either side of a ratio must have.
const FEWEST: f64 = 5.0;

/// The table of entry. `skipped` is the table of skipped cost: what an unseen end costs comes from
/// there.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn entry(evidence: &Evidence, skipped: &skipped_cost::Table) -> Result<Table, DeriveError> {
    let mut table = Table::empty("entry", OWN);
    let lifecycle = Lifecycle::of(evidence);
    let all = passages(evidence, &lifecycle)?;
    let alarms = self::loads::false_alarm(evidence)?;
    let whole = Subset::of(evidence, &lifecycle, &all, |_| true);
    entry_rows(evidence, &whole, ("from+stage", "entry"), &Group::default(), &mut table);
    if let Some(alarm) = alarms.value {
        let less = whole.with_fixed(evidence, -(-alarm.min(0.999)).ln_1p());
        let named = ("from+stage", "entry-less-alarms");
        entry_rows(evidence, &less, named, &Group::default(), &mut table);
    }
    by_cap(evidence, &lifecycle, &all, whole.inflation.pooled, &mut table);
    by_family(evidence, &lifecycle, &all, &mut table);
    self::shares::shares_and_savings(evidence, &whole, skipped, &mut table)?;
    let thin = alarms.n < evidence.rules().least_count.into();
    let row = Row::of("fleet", Group::default(), "false-alarm", Unit::Share, &alarms);
    table.rows.push(row.with(table.fill(&[])).flagged(thin.then_some(Flag::Thin)));
    self::loads::load_rows(evidence, &lifecycle, whole.inflation.pooled, &mut table)?;
    kinds(evidence, &mut table)?;
    Ok(table)
}

/// A fit a cap state, the factor of capped against uncapped, and the test whether any step differs.
fn by_cap(
    evidence: &Evidence,
    lifecycle: &Lifecycle,
    all: &[Passage],
    inflation: f64,
    table: &mut Table,
) {
    for word in crate::derive::counts::Cap::WORDS {
        let subset = Subset::of(evidence, lifecycle, all, |passage| passage.capped == *word);
        let group = Group { capped: Some((*word).to_owned()), ..Group::default() };
        entry_rows(evidence, &subset, ("from+stage+capped", "entry"), &group, table);
    }
    let known = all.iter().filter(|passage| passage.capped != crate::records::UNKNOWN);
    let (grouped, capped) = Grouped::of(lifecycle, known, |passage| passage.capped == "capped");
    if grouped.rows.is_empty() {
        return;
    }
    let (columns, level) = (lifecycle.segments(), evidence.rules().level);
    let found = common_factor(&grouped.rows, &capped, columns, level, inflation);
    let row = Row::of("fleet", Group::default(), "cap-factor", Unit::Ratio, &found.factor);
    let row = row.with(table.fill(&[("p", found.p.into())]));
    let dirty = |side: bool| -> f64 {
        let own = grouped.rows.iter().zip(&capped).filter(|(_, capped)| **capped == side);
        own.map(|(row, _)| row.events).sum()
    };
    let thin = [true, false].into_iter().any(|side| dirty(side) < FEWEST);
    table.rows.push(row.flagged(thin.then_some(Flag::Thin)));
    let parts: Vec<usize> = capped.iter().map(|capped| usize::from(*capped)).collect();
    if let Some(test) = split_test(&grouped.rows, &parts, columns, inflation) {
        let method = "likelihood ratio, over the scatter";
        let group = Group::default();
        let mut row =
            Row::figure("fleet", group, "cap-split", Unit::ChiSquare, test.statistic, method);
        row.n = test.df as f64;
        let row = row.with(table.fill(&[("p", Some(test.p).into())]));
        let stopped = (!test.converged).then_some(Flag::NotConverged);
        table.rows.push(row.flagged(stopped));
    }
}

/// A fit a family that has dirty passages enough to say where their dirt entered.
fn by_family(evidence: &Evidence, lifecycle: &Lifecycle, all: &[Passage], table: &mut Table) {
    let mut families: Vec<&str> = Vec::new();
    for passage in all {
        if !families.contains(&passage.family.as_str()) {
            families.push(&passage.family);
        }
    }
    let order = &evidence.derived.glossary.family;
    let places = order.0.places(order.1);
    let place =
        |family: &&str| order.0.find(family).and_then(|code| places.get(code as usize)).copied();
    families.sort_by_key(place);
    for family in families {
        let subset = Subset::of(evidence, lifecycle, all, |passage| passage.family == family);
        let dirty: f64 = subset.grouped.rows.iter().map(|row| row.events).sum();
        if dirty >= evidence.rules().least_count.into() {
            let group = Group { family: Some(family.to_owned()), ..Group::default() };
            entry_rows(evidence, &subset, ("from+stage+family", "entry"), &group, table);
        }
    }
}

/// All pairs of visits of the look-back: usable ones, and why the others are not.
fn kinds(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    let sums = ["passages", "dirty"];
    let cells = evidence.cells("passages", &evidence.look_back(), &["kind"], &sums)?;
    let all: i64 = cells.iter().map(|cell| cell.sums[0]).sum();
    for cell in cells {
        let share: Estimate = wilson(cell.sums[0] as f64, all as f64, evidence.rules().level);
        let row = Row::of("kind", Group::default(), "passages", Unit::Share, &share);
        let reason = Value::Text(cell.group[0].clone());
        table.rows.push(row.with(table.fill(&[("reason", reason)])));
    }
    Ok(())
}
