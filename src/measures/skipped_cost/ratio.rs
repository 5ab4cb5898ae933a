//! Rate ratios of skipped inspections (5.5), with the neighbours that every one of them needs: all
//! faults of any cause, and causes that dirt cannot produce.

use std::collections::BTreeMap;

use super::control::Controls;
use super::opinions::{Opinions, opinions};
use super::site_weeks::SiteWeeks;
use super::strata::{EXPOSURES, FollowUp, Within};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::table::{Group, Row, Table, Unit, Value};
use crate::stats::evalue::e_values;
use crate::stats::stratified_poisson::StratifiedRow;
use crate::stats::{Estimate, PersonTime};

/// Definitions of a fault that rows are given for, with their places in `Definition::ALL`.
pub const FAULTS: [(&str, usize); 3] = [("linked", 0), ("any", 3), ("control", 4)];
const LEAST_EXPECTED: f64 = 5.0;

/// A text among a row's own values.
pub fn text(word: &str) -> Value {
    Value::Text(word.to_owned())
}

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
    days * 24.0 / 730.5
}

/// One row to be made.
struct Asked<'a> {
    by: &'static str,
    within: Within,
    exposure: (&'static str, &'static [&'static str]),
    faults: (&'static str, usize),
    /// By cluster; none for what is not counted so.
    rows: &'a [StratifiedRow],
    /// The negative control, and its place among the groups'.
    control: Option<(&'a Controls, usize)>,
}

/// Rows of a regression by group of a grouping.
type Grouped = BTreeMap<[Option<u32>; 3], Vec<StratifiedRow>>;

/// Ratios of the groups of one grouping by exposure, kind of fault and after-fault state; smaller
/// groups only the headline's.
pub fn ratio_rows(
    evidence: &Evidence,
    (follow_up, site_weeks): (&FollowUp, &SiteWeeks),
    (by, columns): (&'static str, &[&str]),
    groups: &[Group],
    table: &mut Table,
) {
    let own = |exposed: &[&str]| site_weeks.by_group(columns, exposed);
    let grouped: Vec<Grouped> = EXPOSURES.iter().map(|(_, exposed)| own(exposed)).collect();
    let tested = |exposed, after_fault| {
        let within = |group: &Group| Within { group: group.clone(), after_fault };
        let cells: Vec<Within> = groups.iter().map(within).collect();
        Controls::of(follow_up, &cells, exposed, evidence.rules().level)
    };
    let controls: Vec<[Controls; 2]> = EXPOSURES
        .iter()
        .map(|(_, exposed)| [false, true].map(|after_fault| tested(exposed, after_fault)))
        .collect();
    for (place, group) in groups.iter().enumerate() {
        for (at, faults, after_fault) in combinations(by == "fleet") {
            let is_linked = faults.0 == "linked";
            // Clusters are counted of linked faults, of matings not after a fault.
            let rows = grouped[at].get(&site_weeks.place(group));
            let rows = rows.filter(|_| is_linked && !after_fault);
            let control = &controls[at][usize::from(after_fault)];
            let asked = Asked {
                by,
                within: Within { group: group.clone(), after_fault },
                exposure: EXPOSURES[at],
                faults,
                rows: rows.map_or(&[], Vec::as_slice),
                control: is_linked.then_some((control, place)),
            };
            rows_of(evidence, follow_up, &asked, table);
        }
    }
}

/// Places of exposures, kinds of fault and after-fault states that rows are given for: all of the
/// fleet; of smaller groups only the headline's neighbours.
fn combinations(all: bool) -> Vec<(usize, (&'static str, usize), bool)> {
    let mut found = Vec::new();
    for (at, (exposure, _)) in EXPOSURES.iter().enumerate() {
        for faults in FAULTS {
            for after_fault in [false, true] {
                let apart = *exposure != "skipped" && faults.0 != "linked";
                if all || !(after_fault || apart) {
                    found.push((at, faults, after_fault));
                }
            }
        }
    }
    found
}

/// The rows of one ratio: the headline, the second opinion, and whether the strata agree.
fn rows_of(evidence: &Evidence, follow_up: &FollowUp, asked: &Asked, table: &mut Table) {
    let strata = follow_up.strata(&asked.within, asked.exposure.1, asked.faults.1);
    let found = opinions(&strata, asked.rows, evidence.rules().level);
    let mut values = values(asked, &strata, &found);
    if let Some((controls, at)) = asked.control {
        values.push(("control_q", controls.q(at).into()));
    }
    let group = &asked.within.group;
    let confounded = asked.control.is_some_and(|(controls, at)| controls.is_confounded(at));
    let finished = |quantity, (estimate, p): (&Estimate, Option<f64>), table: &Table| {
        let mut values = values.clone();
        values.push(("p", p.into()));
        if asked.control.is_some() {
            let e = e_values(estimate);
            values.push(("e_value", e.point.into()));
            values.push(("e_value_limit", e.limit.into()));
        }
        let mut row = Row::of(asked.by, group.clone(), quantity, Unit::Ratio, estimate);
        let faults: u64 = strata.iter().map(|stratum| stratum.d1 + stratum.d0).sum();
        (row.n, row.events) = (months_at_risk(&strata), Some(faults as i64));
        row.with(table.fill(&values))
            .flagged(is_thin(&strata).then_some(Flag::Thin))
            .flagged(confounded.then_some(Flag::Confounded))
            .flagged(evidence.guessed_cover(group.site.as_deref()))
    };
    table.rows.push(finished("rate-ratio", (&found.headline, found.p), table));
    if let Some((second, p)) = &found.second {
        table.rows.push(finished("second-opinion", (second, *p), table));
    }
    if let Some(test) = found.homogeneity.filter(|_| asked.by == "fleet" && asked.control.is_some())
    {
        const METHOD: &str = "score test at the Mantel-Haenszel ratio";
        let (statistic, unit) = (test.statistic, Unit::ChiSquare);
        let mut row = Row::figure(asked.by, group.clone(), "homogeneity", unit, statistic, METHOD);
        row.n = test.df as f64;
        let labels = ["exposure", "faults", "after_fault"];
        values.retain(|(name, _)| labels.contains(name));
        values.push(("p", Some(test.p).into()));
        table.rows.push(row.with(table.fill(&values)));
    }
}

fn values(asked: &Asked, strata: &[PersonTime], found: &Opinions) -> Vec<(&'static str, Value)> {
    let both: u64 = strata.iter().map(|stratum| stratum.d0).sum();
    let skipped: u64 = strata.iter().map(|stratum| stratum.d1).sum();
    vec![
        ("exposure", text(asked.exposure.0)),
        ("faults", text(asked.faults.0)),
        ("after_fault", text(if asked.within.after_fault { "yes" } else { "no" })),
        ("faults_skipped", Value::Count(skipped as i64)),
        ("faults_both", Value::Count(both as i64)),
        ("dispersion", found.dispersion.into()),
        ("clusters", found.clusters.map_or(Value::Missing, Value::Count)),
    ]
}
