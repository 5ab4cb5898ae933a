//! Rate ratios of skipped inspections (5.5), with the neighbours that every one of them needs: all
//! faults of any cause, and causes that dirt cannot produce.

use std::collections::BTreeMap;

use super::control::Controls;
use super::declared::{By, Exposure, Faults, Own, Quantity, Row, Table};
use super::opinions::{Opinions, agree, opinions};
use super::places::Key;
use super::site_weeks::SiteWeeks;
use super::strata::{FollowUp, Within};
use crate::calendar::MONTH_HOURS;
use crate::measures::evidence::{Evidence, names_apart};
use crate::measures::flag::Flag;
use crate::measures::results::{Group, Word as _};
use crate::stats::evalue::e_values;
use crate::stats::homogeneity::Homogeneity;
use crate::stats::stratified_poisson::StratifiedRow;
use crate::stats::{Estimate, PersonTime};

/// Fewest events that either side of a ratio must expect.
const LEAST_EXPECTED: f64 = 5.0;

/// Whether either side of a ratio expects fewer than five events, were the rates equal.
pub fn is_thin(strata: &[PersonTime]) -> bool {
    let mut expected = (0.0, 0.0);
    for stratum in strata.iter().filter(|stratum| stratum.t1 > 0.0 && stratum.t0 > 0.0) {
        let events = (stratum.d1 + stratum.d0) as f64;
        let share = stratum.t1 / (stratum.t1 + stratum.t0);
        expected.0 += events * share;
        expected.1 += events * (1.0 - share);
    }
    expected.0 < LEAST_EXPECTED || expected.1 < LEAST_EXPECTED
}

/// Connection-months of follow-up on both sides.
pub fn months_at_risk(strata: &[PersonTime]) -> f64 {
    let days: f64 = strata.iter().map(|stratum| stratum.t1 + stratum.t0).sum();
    days * 24.0 / MONTH_HOURS
}

/// First faults of both sides: of the exposed, and of the matings with both ends seen.
pub fn faults_of(strata: &[PersonTime]) -> [i64; 2] {
    let sum = |of: fn(&PersonTime) -> u64| strata.iter().map(of).sum::<u64>() as i64;
    [sum(|stratum| stratum.d1), sum(|stratum| stratum.d0)]
}

/// Rows of risk sets by group.
type Rows = BTreeMap<Key, Vec<StratifiedRow>>;

/// What the ratios of one exposure are worked out with, for all groups of a grouping.
struct Prepared {
    exposure: Exposure,
    /// Rows of a regression by kind of fault and whether matings were made after a fault.
    rows: BTreeMap<(usize, bool), Rows>,
    /// The negative controls, of matings not made after a fault and of those that were.
    controls: [Controls; 2],
}

impl Prepared {
    fn of(
        evidence: &Evidence,
        (follow_up, site_weeks): (&FollowUp, &SiteWeeks),
        by: By,
        groups: &[Group],
        exposure: Exposure,
    ) -> Prepared {
        let controls = [false, true].map(|after_fault| {
            let within = |group: &Group| Within { group: group.clone(), after_fault };
            let cells: Vec<Within> = groups.iter().map(within).collect();
            let level = evidence.rules().level;
            Controls::of((follow_up, site_weeks), by.parts(), &cells, exposure, level)
        });
        let mut rows = BTreeMap::new();
        for (faults, after_fault) in combinations(exposure, by == By::Fleet) {
            let found = match (faults, after_fault) {
                (Faults::Linked, false) => site_weeks.by_group(by, exposure),
                _ => {
                    let definition = faults.definition();
                    site_weeks.risk_sets.by_parts(by.parts(), exposure, definition, after_fault)
                }
            };
            rows.insert((faults.place(), after_fault), found);
        }
        Prepared { exposure, rows, controls }
    }
}

/// One ratio to be worked out.
struct Asked<'a> {
    by: By,
    within: Within,
    exposure: Exposure,
    faults: Faults,
    /// Risk sets by cluster; none where there are none.
    rows: &'a [StratifiedRow],
    /// The negative control, and its place among the groups'.
    control: Option<(&'a Controls, usize)>,
}

/// Ratios of the groups of one grouping by exposure, kind of fault and after-fault state; smaller
/// groups only the headline's.
pub fn ratio_rows(
    evidence: &Evidence,
    (follow_up, site_weeks): (&FollowUp, &SiteWeeks),
    by: By,
    groups: &[Group],
    table: &mut Table,
) {
    let prepared = |exposure: &Exposure| {
        Prepared::of(evidence, (follow_up, site_weeks), by, groups, *exposure)
    };
    let prepared: Vec<Prepared> = Exposure::ALL.iter().map(prepared).collect();
    for (place, group) in groups.iter().enumerate() {
        let key = site_weeks.places.key(group);
        let all = prepared.iter().flat_map(|prepared| {
            let each = combinations(prepared.exposure, by == By::Fleet);
            each.into_iter().map(move |(faults, after_fault)| (prepared, faults, after_fault))
        });
        for (prepared, faults, after_fault) in all {
            let is_linked = faults == Faults::Linked;
            let rows = prepared.rows.get(&(faults.place(), after_fault));
            let rows = rows.and_then(|rows| rows.get(&key));
            let asked = Asked {
                by,
                within: Within { group: group.clone(), after_fault },
                exposure: prepared.exposure,
                faults,
                rows: rows.map_or(&[], Vec::as_slice),
                control: is_linked.then_some((&prepared.controls[usize::from(after_fault)], place)),
            };
            rows_of(evidence, follow_up, &asked, table);
        }
    }
}

/// Kinds of fault and after-fault states that rows of an exposure are given for: all of the fleet; of smaller groups only
/// the headline's neighbours.
fn combinations(exposure: Exposure, all: bool) -> Vec<(Faults, bool)> {
    let mut found = Vec::new();
    for faults in Faults::ALL.iter().copied() {
        for after_fault in [false, true] {
            let apart = exposure != Exposure::Skipped && faults != Faults::Linked;
            if all || !(after_fault || apart) {
                found.push((faults, after_fault));
            }
        }
    }
    found
}

/// The rows of one ratio: the headline, the second opinion, and whether the strata agree.
fn rows_of(evidence: &Evidence, follow_up: &FollowUp, asked: &Asked, table: &mut Table) {
    let strata = follow_up.strata(&asked.within, asked.exposure, asked.faults.definition());
    let events =
        follow_up.events(asked.rows, &asked.within, asked.exposure, asked.faults.definition());
    let found = opinions(&events, asked.rows, evidence.rules().level);
    let apart = evidence.apart(&asked.within.group);
    let own = Own { apart, ..columns(asked, &strata, &found) };
    let group = &asked.within.group;
    let confounded = asked.control.is_some_and(|(controls, at)| controls.is_confounded(at));
    let finished = |quantity, (estimate, p): (&Estimate, Option<f64>)| {
        let e = asked.control.map(|_| e_values(estimate));
        let own = Own {
            p,
            e_value: e.as_ref().and_then(|e| e.point),
            e_value_limit: e.as_ref().and_then(|e| e.limit),
            ..own.clone()
        };
        let row = Row::of(asked.by, group.clone(), quantity, estimate, own);
        let faults = faults_of(&strata).iter().sum();
        Row { n: months_at_risk(&strata), events: Some(faults), ..row }
            .flagged(is_thin(&events).then_some(Flag::Thin))
            .flagged(confounded.then_some(Flag::Confounded))
            .flagged(evidence.guessed_cover(group.site.as_deref()))
            .flagged(names_apart(apart))
    };
    table.rows.push(finished(Quantity::RateRatio, (&found.headline, found.p)));
    if let Some((second, p)) = &found.second {
        table.rows.push(finished(Quantity::SecondOpinion, (second, *p)));
    }
    if asked.by == By::Fleet && asked.control.is_some() {
        table.rows.extend(agree(&events, asked.rows).map(|test| homogeneity(asked, &test)));
    }
}

/// What a row is a ratio of.
fn labels(asked: &Asked) -> Own {
    Own {
        exposure: Some(asked.exposure),
        faults: Some(asked.faults),
        after_fault: Some(asked.within.after_fault),
        ..Own::default()
    }
}

/// What both opinions on a ratio say.
fn columns(asked: &Asked, strata: &[PersonTime], found: &Opinions) -> Own {
    let [skipped, both] = faults_of(strata);
    Own {
        dispersion: found.dispersion,
        clusters: found.clusters,
        control_q: asked.control.and_then(|(controls, at)| controls.q(at)),
        faults_skipped: Some(skipped),
        faults_both: Some(both),
        ..labels(asked)
    }
}

fn homogeneity(asked: &Asked, test: &Homogeneity) -> Row {
    const METHOD: &str = "score test given the totals, tables drawn";
    let group = asked.within.group.clone();
    let own = Own { p: Some(test.p), ..labels(asked) };
    let quantity = Quantity::Homogeneity;
    let row = Row::figure(asked.by, group, quantity, test.excess, METHOD, own);
    Row { n: test.strata as f64, ..row }
}
