//! Who was at risk at each first fault (5.5), from the count tables: what every ratio rests on.
//!
//! Stops at rows of a regression: a stratum of rows for every fault, by cluster and side. Where the tables were given
//! up for their size there are none, and time at risk stands for numbers at risk.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::declared::{Exposure, Rule};
use super::places::{Key, Place, Places, key_of};
use crate::calendar::DAY_S;
use crate::derive::counts::{AfterFault, risk_faults, risk_sets, risk_variants};
use crate::derive::{Coverage, Definition, Variant};
use crate::measures::evidence::Evidence;
use crate::measures::results::Word as _;
use crate::settings::Rules;
use crate::stats::PersonTime;
use crate::stats::risk_sets::{Change, Events, risk_rows};
use crate::stats::stratified_poisson::{StratifiedRow, summed};

/// How follow-up is counted: to the first fault of a definition, or to the first linked one under another rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Count {
    Definition(Definition),
    Variant(Variant),
}

/// How many more matings are at risk from a time on, or how many faults came at it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Counted {
    cluster: u64,
    coverage: Coverage,
    /// Seconds since mating.
    since: u32,
    count: i64,
}

/// What makes a stratum: place, after a fault, criteria, quarter.
type Stratum = (Place, bool, [u32; 2]);

/// What is counted of a stratum that had a fault.
#[derive(Default)]
struct Counts {
    /// Who is at risk until the first linked fault.
    linked: Vec<Counted>,
    /// Who more than these under another count.
    others: Vec<(Count, Counted)>,
    faults: Vec<(Count, Counted)>,
}

/// All strata of the look-back that had a fault.
pub struct RiskSets {
    /// In the order of display.
    strata: Vec<(Stratum, Counts)>,
    /// Last time since mating that counts, seconds.
    horizon: u32,
    /// Those of other rules were given up.
    without_variants: bool,
    /// Rows of those that were asked for.
    kept: Mutex<Kept>,
}

/// By exposure, definition and whether matings were made after a fault: rows of every stratum that has any.
type Kept = BTreeMap<(usize, Definition, bool), Arc<Vec<(Place, Vec<StratifiedRow>)>>>;

/// The number of the cluster of matings at a site's place in a week.
pub type ClusterOf<'a> = &'a dyn Fn(u32, u32) -> u64;

/// The one cluster of what is not counted by clusters.
const ALL: u64 = 0;

impl RiskSets {
    /// Reads the count tables, cell by cell.
    pub fn of(evidence: &Evidence, places: &Places, cluster: ClusterOf) -> RiskSets {
        let tables = &evidence.derived.counts.risks;
        let mut strata: BTreeMap<Stratum, Counts> = BTreeMap::new();
        for (cell, row) in tables.risk_sets.cells() {
            let risk_sets::Key { week, quarter, site, stage, family, criteria, .. } = cell;
            let place = places.place(site, stage, family);
            let after_fault = cell.after_fault == AfterFault::Yes;
            let rest = [places.criteria(criteria), quarter.0];
            let counted = Counted {
                cluster: cluster(place[0], week.0),
                coverage: cell.coverage,
                since: cell.since.0,
                count: row.entered.saturating_sub(row.left),
            };
            strata.entry((place, after_fault, rest)).or_default().linked.push(counted);
        }
        if strata.is_empty() {
            return RiskSets {
                strata: Vec::new(),
                horizon: 0,
                without_variants: true,
                kept: Mutex::default(),
            };
        }
        for (cell, row) in tables.risk_faults.cells() {
            let risk_faults::Key { week, quarter, site, stage, family, criteria, .. } = cell;
            let place = places.place(site, stage, family);
            let after_fault = cell.after_fault == AfterFault::Yes;
            let rest = [places.criteria(criteria), quarter.0];
            let counts = strata.entry((place, after_fault, rest)).or_default();
            let (cluster, since) = (cluster(place[0], week.0), cell.since.0);
            let counted = |count| Counted { cluster, coverage: cell.coverage, since, count };
            counts.add(Count::Definition(cell.definition), &row, counted);
        }
        for (cell, row) in tables.risk_variants.cells() {
            let risk_variants::Key { quarter, site, stage, family, criteria, .. } = cell;
            let place = places.place(site, stage, family);
            let rest = [places.criteria(criteria), quarter.0];
            let counts = strata.entry((place, false, rest)).or_default();
            let since = cell.since.0;
            let counted = |count| Counted { cluster: ALL, coverage: cell.coverage, since, count };
            counts.add(Count::Variant(cell.variant), &row, counted);
        }
        let horizon = seconds(evidence.rules().horizon_days);
        RiskSets {
            strata: strata.into_iter().collect(),
            horizon,
            without_variants: tables.risk_variants.is_given_up(),
            kept: Mutex::default(),
        }
    }

    /// Whether there are none: no fault, or tables given up.
    pub fn is_empty(&self) -> bool {
        self.strata.is_empty()
    }

    /// Rows of first faults of a definition by the groups of these of site, stage and family: strata with a fault of
    /// either side.
    pub fn by_parts(
        &self,
        parts: [bool; 3],
        exposure: Exposure,
        definition: Definition,
        after_fault: bool,
    ) -> BTreeMap<Key, Vec<StratifiedRow>> {
        let mut found: BTreeMap<Key, Vec<StratifiedRow>> = BTreeMap::new();
        for (place, rows) in self.rows(exposure, definition, after_fault).iter() {
            found.entry(key_of(*place, parts)).or_default().extend_from_slice(rows);
        }
        found
    }

    /// The same by stratum: every grouping asks for the same rows.
    fn rows(
        &self,
        exposure: Exposure,
        definition: Definition,
        after_fault: bool,
    ) -> Arc<Vec<(Place, Vec<StratifiedRow>)>> {
        let which = (exposure.place(), definition, after_fault);
        // What panicked elsewhere left whole lists or none.
        let kept = || self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(rows) = kept().get(&which) {
            return Arc::clone(rows);
        }
        let side = |coverage| exposure.side(coverage);
        let way = (Count::Definition(definition), self.horizon);
        let strata =
            (0..).zip(&self.strata).filter(|(_, ((_, after, _), _))| *after == after_fault);
        let rows =
            strata.map(|(number, ((place, ..), counts))| (*place, counts.rows(number, way, &side)));
        let rows = Arc::new(rows.filter(|(_, rows)| !rows.is_empty()).collect());
        kept().insert(which, Arc::clone(&rows));
        rows
    }

    /// Linked first faults of matings not made after a fault, with their numbers at risk, under a rule of the sensitivity:
    /// `side` says which coverage is on which side. None where risk sets are not counted.
    pub fn under(
        &self,
        rule: Rule,
        rules: &Rules,
        side: &dyn Fn(Coverage) -> Option<bool>,
    ) -> Option<Vec<PersonTime>> {
        let linked = Count::Definition(Definition::Linked);
        let way = match rule {
            Rule::But(other @ Variant::Horizon(_)) => (linked, seconds(other.horizon_days(rules))),
            Rule::But(_) if self.without_variants => return None,
            Rule::But(other) => (Count::Variant(other), self.horizon),
            Rule::AsRuled | Rule::UnknownAsSkipped | Rule::UnknownAsBoth => (linked, self.horizon),
        };
        if self.is_empty() {
            return None;
        }
        let strata = (0..).zip(&self.strata).filter(|(_, ((_, after_fault, _), _))| !after_fault);
        Some(
            strata
                .flat_map(|(number, (_, counts))| summed(&counts.rows(number, way, side)))
                .collect(),
        )
    }
}

fn seconds(days: u32) -> u32 {
    u32::try_from(i64::from(days) * DAY_S).unwrap_or(u32::MAX)
}

impl Counts {
    fn add(&mut self, count: Count, row: &risk_faults::Row, counted: impl Fn(i64) -> Counted) {
        if row.faults != 0 {
            self.faults.push((count, counted(row.faults)));
        }
        if row.entered != row.left {
            self.others.push((count, counted(row.entered.saturating_sub(row.left))));
        }
    }

    /// Rows of the faults up to a time since mating; `stratum` numbers the stratum.
    fn rows(
        &self,
        stratum: u64,
        (way, horizon): (Count, u32),
        side: &dyn Fn(Coverage) -> Option<bool>,
    ) -> Vec<StratifiedRow> {
        let by_cluster = matches!(way, Count::Definition(_));
        let cluster = |counted: &Counted| if by_cluster { counted.cluster } else { ALL };
        // What other windows of tickets count is the difference to the rules.
        let is_counted = |count: Count| match way {
            Count::Variant(variant) if variant.is_difference() => {
                count == way || count == Count::Definition(Definition::Linked)
            }
            _ => count == way,
        };
        let mut faults: BTreeMap<(u32, u64, bool), i64> = BTreeMap::new();
        for (_, fault) in self.faults.iter().filter(|(count, _)| is_counted(*count)) {
            let Some(exposed) = side(fault.coverage).filter(|_| fault.since <= horizon) else {
                continue;
            };
            let sum = faults.entry((fault.since, cluster(fault), exposed)).or_default();
            *sum = sum.saturating_add(fault.count);
        }
        let event = |((since, cluster, exposed), count): ((u32, u64, bool), i64)| Events {
            stratum,
            time: since.into(),
            cluster,
            exposed,
            events: count.max(0) as u64,
        };
        let events: Vec<Events> =
            faults.into_iter().map(event).filter(|event| event.events > 0).collect();
        if events.is_empty() {
            return Vec::new();
        }
        let others = self.others.iter().filter(|(count, _)| *count == way);
        // Where reseats count, those at risk are counted in full.
        let usual: &[Counted] = match way {
            Count::Variant(Variant::Reseats) => &[],
            _ => &self.linked,
        };
        let counted = usual.iter().chain(others.map(|(_, counted)| counted));
        let change = |counted: &Counted| {
            Some(Change {
                stratum,
                cluster: cluster(counted),
                exposed: side(counted.coverage)?,
                time: counted.since.into(),
                subjects: counted.count,
            })
        };
        risk_rows(counted.filter_map(change).collect(), events)
    }
}
