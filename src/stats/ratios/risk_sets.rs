//! Risk sets: at every event, who of its stratum could have had it then.
//!
//! Person-time that is cut at the event depends on the event: in strata of a few subjects the ratio of rates
//! comes out too far from 1. Who is at risk at an event does not. Promises rows whose conditional likelihood is
//! the partial likelihood of Cox, so that whatever is worked out from strata of events and person-time is worked
//! out from them as well, numbers at risk in the place of times. Stops at rows.

use super::person_time::PersonTime;
use super::stratified_poisson::{StratifiedRow, summed};
use std::collections::BTreeMap;

/// Subjects that join (more than 0) or leave (less) a group of a stratum and a cluster.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Change {
    /// Number of the stratum, below 2^32; the numbers themselves mean nothing.
    pub stratum: u64,
    /// Number of the cluster, any.
    pub cluster: u64,
    /// Whether the group is exposed; else it is the reference.
    pub exposed: bool,
    /// Time from which on they are at risk, or no more, this instant included; any unit.
    pub time: u64,
    /// How many more.
    pub subjects: i64,
}

/// Events of a group of a stratum and a cluster at one time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Events {
    /// Number of the stratum.
    pub stratum: u64,
    /// When they came, in the unit of the changes.
    pub time: u64,
    /// Number of the cluster.
    pub cluster: u64,
    /// Whether they are of the exposed.
    pub exposed: bool,
    /// How many.
    pub events: u64,
}

/// Events of one time that are told apart; of more, several have the same risk set.
const MOST_TIED: u64 = 16;

/// Groups that are followed side by side in one stratum: changes still to come, and how many are at risk.
struct Line<'a> {
    cluster: u64,
    exposed: bool,
    to_come: &'a [Change],
    at_risk: i64,
}

/// Rows of [`super::stratified_poisson::stratified_poisson`], a stratum of rows for every event: `time` is the number at
/// risk. Of `d` events at one time each is of everybody at risk less `k / d` of those who have one, `k` from 0 to `d - 1`,
/// and falls to each group by its share of the `d`.
///
/// Rows of one stratum of subjects have numbers with the same upper 32 bits: [`by_stratum`].
///
/// Source: Cox (1972), J. R. Stat. Soc. B 34, 187-220; ties Efron (1977), J. Am. Stat. Assoc. 72, 557-565.
pub fn risk_rows(mut changes: Vec<Change>, mut events: Vec<Events>) -> Vec<StratifiedRow> {
    changes.sort_unstable();
    events.sort_unstable();
    events.retain(|event| event.events > 0);
    let mut rows = Vec::new();
    let mut rest = changes.as_slice();
    for of_stratum in events.chunk_by(|a, b| a.stratum == b.stratum) {
        let stratum = of_stratum[0].stratum;
        let before = rest.partition_point(|change| change.stratum < stratum);
        let within = rest.partition_point(|change| change.stratum <= stratum);
        let own = &rest[before..within];
        rest = &rest[within..];
        let mut lines: Vec<Line> = own
            .chunk_by(|a, b| (a.cluster, a.exposed) == (b.cluster, b.exposed))
            .map(|to_come| Line {
                cluster: to_come[0].cluster,
                exposed: to_come[0].exposed,
                to_come,
                at_risk: 0,
            })
            .collect();
        let mut number = stratum << 32;
        for tied in of_stratum.chunk_by(|a, b| a.time == b.time) {
            number = add_tied(tied, &mut lines, number, &mut rows);
        }
    }
    rows
}

/// Adds the rows of the events of one time, from this number on, and tells the next.
fn add_tied(
    tied: &[Events],
    lines: &mut [Line],
    mut number: u64,
    rows: &mut Vec<StratifiedRow>,
) -> u64 {
    let time = tied[0].time;
    for line in lines.iter_mut() {
        let now = line.to_come.partition_point(|change| change.time <= time);
        let (past, to_come) = line.to_come.split_at(now);
        line.at_risk =
            past.iter().fold(line.at_risk, |sum, change| sum.saturating_add(change.subjects));
        line.to_come = to_come;
    }
    let add = |sum: u64, event: &Events| sum.saturating_add(event.events);
    let all = tied.iter().fold(0, add);
    let with_event = |line: &Line| -> u64 {
        let own = |event: &&Events| (event.cluster, event.exposed) == (line.cluster, line.exposed);
        tied.iter().filter(own).fold(0, add)
    };
    // Where only one group is at risk nothing is compared: the rows with the events are enough.
    let is_there = |side: bool| lines.iter().any(|line| line.exposed == side && line.at_risk > 0);
    let compared = is_there(true) && is_there(false);
    let kept: Vec<(&Line, f64)> = lines
        .iter()
        .map(|line| (line, with_event(line) as f64))
        .filter(|(line, own)| line.at_risk > 0 && (compared || *own > 0.0))
        .collect();
    let parts = all.min(MOST_TIED);
    for part in 0..parts {
        let at = |part: u64| (u128::from(all) * u128::from(part) / u128::from(parts)) as f64;
        let (first, next) = (at(part), at(part + 1));
        // Of events taken together the mean of those that have gone before.
        let gone = 0.5 * (first + next - 1.0) / all as f64;
        rows.extend(kept.iter().map(|(line, own)| StratifiedRow {
            stratum: number,
            cluster: line.cluster,
            exposed: line.exposed,
            events: own * ((next - first) / all as f64),
            time: line.at_risk as f64 - gone * own,
        }));
        number += 1;
    }
    number
}

/// Events and numbers at risk of the rows, those of one stratum of subjects together.
pub fn by_stratum(rows: &[StratifiedRow]) -> Vec<Vec<PersonTime>> {
    let mut strata: BTreeMap<u64, Vec<StratifiedRow>> = BTreeMap::new();
    for row in rows {
        strata.entry(row.stratum >> 32).or_default().push(*row);
    }
    strata.into_values().map(|rows| summed(&rows)).collect()
}
