//! Lots on receipt by supplier: the listed plan for a usual lot, and how severely the next one is looked at.

use std::collections::BTreeMap;

use super::declared::{By, Own, Quantity, Row, Severity};
use crate::by;
use crate::derive::DeriveError;
use crate::derive::counts::{QuarterNo, Supplier, Suppliers, WorkOrders};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::results::Group;
use crate::stats::sampling::letters::{better, listed_plan};
use crate::stats::sampling::switching::{Regime, Switching};
use crate::stats::tails::binomial::binomial_at_most;
use crate::stats::wilson;

/// Chance of taking a lot of the acceptable quality that a quarter's receipts are held to, about that of listed plans.
const TAKEN: f64 = 0.95;

/// A row for each supplier; none where the settings name no acceptable quality.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(super) fn rows(evidence: &Evidence) -> Result<Vec<Row>, DeriveError> {
    let Some(percent) = evidence.plan.looks.accept_percent else { return Ok(Vec::new()) };
    let rules = evidence.rules();
    let lots = usual_lots(evidence)?;
    let mut rows = Vec::new();
    let quarters =
        evidence.along::<QuarterNo, Suppliers>(&evidence.until_period(), &by!(Supplier))?;
    for supplier in quarters {
        let Some(name) = supplier.words.first().filter(|name| !name.is_empty()) else { continue };
        let (mut looks, mut dirty) = (0, 0);
        let mut record = Switching::default();
        for (quarter, row) in &supplier.cells {
            let (looked, failed) = (row.looks.max(0) as u64, (row.looks - row.clean).max(0) as u64);
            if looked > 0 {
                record.take(is_taken(looked, failed, percent / 100.0));
            }
            if evidence.is_looked_back(*quarter) {
                looks += looked;
                dirty += failed;
            }
        }
        if looks == 0 {
            continue;
        }
        let lot = lots.get(name).copied().unwrap_or(looks);
        let (severity, held_to) = match record.regime() {
            Regime::Reduced => (Severity::Reduced, percent),
            Regime::Normal => (Severity::Normal, percent),
            Regime::Tightened => (Severity::Tightened, better(percent).unwrap_or(percent)),
        };
        let plan = listed_plan(lot, held_to).map(|(_, plan)| plan);
        let own = Own {
            lot: Some(lot),
            sample: plan.map(|plan| plan.sample),
            accept: plan.map(|plan| plan.accept),
            regime: Some(severity),
            acceptable: Some(percent / 100.0),
            ..Own::default()
        };
        let group = Group { supplier: Some(name.clone()), ..Group::default() };
        let estimate = wilson(dirty as f64, looks as f64, rules.level);
        let row = Row::of(By::Supplier, group, Quantity::DirtyOnReceipt, &estimate, own);
        rows.push(row.flagged((looks < rules.least_count.into()).then_some(Flag::Thin)));
    }
    Ok(rows)
}

/// Whether a quarter's receipts, as one lot, have no more dirty ends than nineteen of twenty lots of the acceptable quality would.
fn is_taken(looked: u64, dirty: u64, acceptable: f64) -> bool {
    dirty == 0 || binomial_at_most(dirty - 1, looked, acceptable) < TAKEN
}

/// Mean first looks of a work order, by supplier, of the quarters whose work orders are kept.
fn usual_lots(evidence: &Evidence) -> Result<BTreeMap<String, u64>, DeriveError> {
    let found = evidence.look_clusters(&evidence.reviewed::<WorkOrders>(), &by!(Supplier))?;
    let of = |mut clusters: crate::derive::Clusters<WorkOrders>| {
        let name = clusters.words.pop()?;
        let lots = clusters.clusters.len() as u64;
        let looks: i64 = clusters.clusters.iter().map(|row| row.looks).sum();
        let mean = (looks.max(0) as f64 / lots.max(1) as f64).round() as u64;
        (mean > 0).then_some((name, mean))
    };
    Ok(found.into_iter().filter_map(of).collect())
}
