//! Rate ratios of skipped inspections (5.5), with the neighbours that every one of them needs: all
//! faults of any cause, and causes that dirt cannot produce.

use std::collections::BTreeMap;

use super::control::Controls;
use super::declared::{By, Exposure, Faults, Own, Quantity, Row, Table};
use super::opinions::{Opinions, opinions};
use super::places::Key;
use super::site_weeks::SiteWeeks;
use super::strata::{FollowUp, Within};
use crate::calendar::MONTH_HOURS;
use crate::measures::evidence::{Evidence, names_apart};
use crate::measures::flag::Flag;
use crate::measures::results::Group;
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

/// What the ratios of one exposure are worked out with, for all groups of a grouping.
struct Prepared {
    exposure: Exposure,
    /// Rows of a regression by group.
    rows: BTreeMap<Key, Vec<StratifiedRow>>,
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
            Controls::of(follow_up, &cells, exposure, evidence.rules().level)
        });
        Prepared { exposure, rows: site_weeks.by_group(by, exposure), controls }
    }
}

/// One ratio to be worked out.
struct Asked<'a> {
    by: By,
    within: Within,
    exposure: Exposure,
    faults: Faults,
    /// By cluster; none for what is not counted so.
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
        for (prepared, faults, after_fault) in combinations(&prepared, by == By::Fleet) {
            let is_linked = faults == Faults::Linked;
            // Clusters are counted of linked faults, of matings not after a fault.
            let rows = prepared.rows.get(&key).filter(|_| is_linked && !after_fault);
            let control = &prepared.controls[usize::from(after_fault)];
            let asked = Asked {
                by,
                within: Within { group: group.clone(), after_fault },
                exposure: prepared.exposure,
                faults,
                rows: rows.map_or(&[], Vec::as_slice),
                control: is_linked.then_some((control, place)),
            };
            rows_of(evidence, follow_up, &asked, table);
        }
    }
}

/// Exposures, kinds of fault and after-fault states that rows are given for: all of the fleet; of smaller
/// groups only the headline's neighbours.
fn combinations(prepared: &[Prepared], all: bool) -> Vec<(&Prepared, Faults, bool)> {
    let mut found = Vec::new();
    for prepared in prepared {
        for faults in Faults::ALL.iter().copied() {
            for after_fault in [false, true] {
                let apart = prepared.exposure != Exposure::Skipped && faults != Faults::Linked;
                if all || !(after_fault || apart) {
                    found.push((prepared, faults, after_fault));
                }
            }
        }
    }
    found
}

/// The rows of one ratio: the headline, the second opinion, and whether the strata agree.
fn rows_of(evidence: &Evidence, follow_up: &FollowUp, asked: &Asked, table: &mut Table) {
    let strata = follow_up.strata(&asked.within, asked.exposure, asked.faults.definition());
    let found = opinions(&strata, asked.rows, evidence.rules().level);
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
            .flagged(is_thin(&strata).then_some(Flag::Thin))
            .flagged(confounded.then_some(Flag::Confounded))
            .flagged(evidence.guessed_cover(group.site.as_deref()))
            .flagged(names_apart(apart))
    };
    table.rows.push(finished(Quantity::RateRatio, (&found.headline, found.p)));
    if let Some((second, p)) = &found.second {
        table.rows.push(finished(Quantity::SecondOpinion, (second, *p)));
    }
    let tested = asked.by == By::Fleet && asked.control.is_some();
    table.rows.extend(found.homogeneity.filter(|_| tested).map(|test| homogeneity(asked, &test)));
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
