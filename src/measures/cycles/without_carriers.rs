//! 5.2 beside 5.7: the odds of methods without the tools that are listed as carriers.
//!
//! A method whose tool is worn looks worse than it is: buying another method would be credited with what
//! replacing the tool does. The regression of 5.2 does not know tools; cycles with a known tool do. Of them
//! the Mantel-Haenszel odds ratio of passing is taken with and without the listed tools, over strata of
//! stage, family and number of the cycle, and the regression's odds ratio is multiplied by the ratio of the
//! two. Its interval keeps its width in the table. A purchase is of other tools than those that were counted:
//! its contrast has the error over tools where that is the larger one.

use std::collections::{BTreeMap, BTreeSet};

use super::declared::{By, Own, Quantity, Row, Table};
use super::odds::Contrast;
use crate::derive::CarrierKind;
use crate::measures::carriers::{self, Carrier};
use crate::measures::evidence::Evidence;
use crate::stats::stratified_odds::{TwoSides, Unit, error_over_units, stratified_odds};

/// Cycles of one method with a known tool: trials and passes by stage, family and number of the cycle.
type Cells = BTreeMap<[u32; 3], (f64, f64)>;

/// Cycles by method, with the listed tools and without them.
pub(in crate::measures) struct ToolCycles {
    all: BTreeMap<String, Cells>,
    others: BTreeMap<String, Cells>,
    /// The latter by site and tool.
    by_tool: BTreeMap<String, BTreeMap<(u32, u32), Cells>>,
    /// Names of the tools that are listed.
    pub listed: Vec<String>,
}

impl ToolCycles {
    /// Of the months looked back, by what the table of carriers lists.
    pub fn of(evidence: &Evidence, carriers: &carriers::Table) -> ToolCycles {
        let is_tool = |row: &&carriers::Row| {
            matches!(row.own.kind, Some(Carrier::ToolCleaning | Carrier::ToolSoiling))
        };
        let listed: BTreeSet<String> =
            carriers.listed().filter(is_tool).filter_map(|row| row.own.entity.clone()).collect();
        let glossary = &evidence.derived.glossary;
        let (mut all, mut others) = (BTreeMap::new(), BTreeMap::new());
        let mut by_tool: BTreeMap<String, BTreeMap<(u32, u32), Cells>> = BTreeMap::new();
        let add = |to: &mut Cells, at, trials: i64, dirty: i64| {
            let cell = to.entry(at).or_default();
            cell.0 += trials.max(0) as f64;
            cell.1 += (trials - dirty).max(0) as f64;
        };
        for (cell, counts) in evidence.derived.counts.carriers.trials.cells() {
            if cell.kind != CarrierKind::ToolCleaning {
                continue;
            }
            let method = glossary.method.0.word(cell.method.0);
            let at = [cell.stage.0, cell.family.0, cell.cycle.0];
            let add_to = |to: &mut BTreeMap<String, Cells>| {
                let cells = to.entry(method.to_owned()).or_default();
                add(cells, at, counts.trials, counts.dirty);
            };
            add_to(&mut all);
            if !listed.contains(glossary.device.0.word(cell.entity.0)) {
                add_to(&mut others);
                let tools = by_tool.entry(method.to_owned()).or_default();
                let own = tools.entry((cell.site.0, cell.entity.0)).or_default();
                add(own, at, counts.trials, counts.dirty);
            }
        }
        ToolCycles { all, others, by_tool, listed: listed.into_iter().collect() }
    }

    /// What the log odds ratio of a method against another changes by without the listed tools; 0 where none is listed or
    /// too few tools are known.
    pub fn shift(&self, method: &str, against: &str) -> f64 {
        let log = |cells: &BTreeMap<String, Cells>| {
            let (_, strata) = strata(cells, method, against)?;
            stratified_odds(&strata).map(f64::ln)
        };
        let shift = log(&self.others).zip(log(&self.all)).map(|(without, with)| without - with);
        shift.filter(|shift| shift.is_finite()).unwrap_or(0.0)
    }

    /// Standard error of the log odds ratio of a method against another over tools that are not listed; none where either
    /// has fewer than two.
    fn error(&self, method: &str, against: &str) -> Option<f64> {
        let (places, strata) = strata(&self.others, method, against)?;
        let units = |method: &str| -> Option<Vec<Unit>> {
            let unit = |cells: &Cells| -> Unit {
                let at = |(at, (trials, passed)): (&[u32; 3], &(f64, f64))| {
                    Some((places.binary_search(at).ok()?, *trials, *passed))
                };
                cells.iter().filter_map(at).collect()
            };
            Some(self.by_tool.get(method)?.values().map(unit).collect())
        };
        error_over_units(&strata, &units(method)?, &units(against)?)
    }

    /// A contrast without the listed tools.
    pub fn shifted(&self, contrast: Contrast, method: &str, against: &str) -> Contrast {
        let se = self.error(method, against).map_or(contrast.se, |se| contrast.se.max(se));
        Contrast { log_odds: contrast.log_odds + self.shift(method, against), se, ..contrast }
    }
}

/// Strata that both methods have cycles in: where they are, rising, and their counts.
fn strata(
    cells: &BTreeMap<String, Cells>,
    method: &str,
    against: &str,
) -> Option<(Vec<[u32; 3]>, Vec<TwoSides>)> {
    let (own, other) = (cells.get(method)?, cells.get(against)?);
    let both = |(at, (trials, successes)): (&[u32; 3], &(f64, f64))| {
        let (other_trials, other_successes) = other.get(at).copied()?;
        let (trials, successes) = (*trials, *successes);
        Some((*at, TwoSides { trials, successes, other_trials, other_successes }))
    };
    Some(own.iter().filter_map(both).unzip())
}

/// Adds the odds ratio of every method without the listed tools, where a tool is listed.
pub(in crate::measures) fn without_carriers(cycles: &ToolCycles, table: &mut Table) {
    if cycles.listed.is_empty() {
        return;
    }
    let rows: Vec<Row> = table
        .rows_of(By::Treatment, Quantity::OddsRatio)
        .filter_map(|row| {
            let method = row.group.treatment.clone()?;
            let against = row.own.against.clone()?;
            let times = cycles.shift(&method, &against).exp();
            let own = Own { left_out: Some(cycles.listed.join(", ")), ..row.own.clone() };
            let scaled = |value: Option<f64>| value.map(|value| value * times);
            Some(Row {
                quantity: Quantity::OddsRatioWithoutCarriers,
                estimate: scaled(row.estimate),
                low: scaled(row.low),
                high: scaled(row.high),
                own,
                ..row.clone()
            })
        })
        .collect();
    table.rows.extend(rows);
}
