//! 5.2, Q2: how many cleaning cycles until end faces pass.
//!
//! Visits whose first look failed for contamination, by cycle: passed; rejected (or damage
//! uncovered) as a competing event; the rest censored. Left failing is censored in one reading and
//! competing in the other, since people may give up because dirt is stubborn: the two bracket the
//! truth. Aalen-Johansen; hazards with Wilson.

mod design;
mod fits;
mod labour;
pub(in crate::measures) mod odds;
mod stopping;
mod stopping_cells;
mod trials;
mod unseen_cleanings;

use crate::derive::{Cell, DeriveError, Only};
use crate::measures::evidence::{Evidence, Grouping};
use crate::measures::flag::Flag;
use crate::measures::table::{Group, Row, Table, Unit, Value};
use crate::stats::competing::Median;
use crate::stats::{Estimate, Incidence, Step, aalen_johansen, wilson};

const OWN: &[&str] = &[
    "cycle",
    "at_risk",
    "bracket",
    "rejected",
    "zone",
    "against",
    "p",
    "at_least",
    "extended",
    "chosen",
    "excess",
    "excess_low",
    "excess_high",
    "looks_saved",
];
const SUMS: &[&str] = &["passed", "rejected", "left", "censored", "cleanings"];
/// Cycles that rows are printed for.
pub(in crate::measures) const MOST_CYCLES: usize = 20;

/// One cell's exits by cycle, cycle 0 first.
pub(in crate::measures) struct Exits {
    /// passed, rejected, left, censored, cleanings.
    pub by_cycle: Vec<[u64; 5]>,
}

/// The table of cycles.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn cycles(evidence: &Evidence) -> Result<Table, DeriveError> {
    let mut table = Table::empty("cycles", OWN);
    let all = evidence.look_back().with("view", &["all"]);
    let by_method = evidence.look_back().with("view", &["method"]);
    let groupings: [(Grouping, &Only); 4] = [
        (("fleet", &[]), &all),
        (("treatment", &["method"]), &by_method),
        (("stage", &["stage"]), &all),
        (("family", &["family"]), &all),
    ];
    for ((by, columns), only) in groupings {
        for (group, exits) in exits(evidence, only, columns)? {
            incidence_rows(evidence, by, &group, &exits, &mut table);
            if matches!(by, "fleet" | "treatment") {
                self::fits::fit_rows(evidence, by, &group, &exits, &mut table);
            }
        }
    }
    self::labour::beyond_practice(evidence, &mut table)?;
    self::odds::odds_and_curves(evidence, &mut table)?;
    cleaning_rows(evidence, &mut table)?;
    unseen_rows(evidence, &mut table)?;
    self::unseen_cleanings::unseen_cleanings(evidence, &mut table)?;
    self::stopping::stopping(evidence, &mut table)?;
    Ok(table)
}

fn exits(
    evidence: &Evidence,
    only: &Only,
    columns: &[&'static str],
) -> Result<Vec<(Group, Exits)>, DeriveError> {
    let by: Vec<&str> = columns.iter().copied().chain(["cycle"]).collect();
    let cells = evidence.cells("cycles", only, &by, SUMS)?;
    let same = |a: &Cell, b: &Cell| a.group[..columns.len()] == b.group[..columns.len()];
    let chunks = cells.chunk_by(same).map(|chunk| {
        let last = chunk.iter().map(|cell| cell.places[columns.len()]).max().unwrap_or(0) as usize;
        let mut by_cycle = vec![[0; 5]; last + 1];
        for cell in chunk {
            let at = cell.places[columns.len()] as usize;
            by_cycle[at] = std::array::from_fn(|sum| cell.sums[sum].max(0) as u64);
        }
        (Group::of(columns, &chunk[0].group), Exits { by_cycle })
    });
    Ok(chunks.collect())
}

/// Aalen-Johansen with those left failing censored, or competing.
fn incidence(exits: &Exits, left_competes: bool, level: f64) -> Incidence {
    let step = |[passed, rejected, left, censored, _]: &[u64; 5]| match left_competes {
        true => Step { events: *passed, competing: vec![*rejected, *left], censored: *censored },
        false => Step { events: *passed, competing: vec![*rejected], censored: censored + left },
    };
    aalen_johansen(&exits.by_cycle.iter().map(step).collect::<Vec<_>>(), level)
}

fn incidence_rows(
    evidence: &Evidence,
    by: &'static str,
    group: &Group,
    exits: &Exits,
    table: &mut Table,
) {
    let least = f64::from(evidence.rules().least_count);
    let thin = |n: f64| (n < least).then_some(Flag::Thin);
    for (bracket, left_competes) in [("censored", false), ("competing", true)] {
        let incidence = incidence(exits, left_competes, evidence.rules().level);
        let visits = incidence.rows.first().map_or(0, |row| row.at_risk) as f64;
        for (cycle, at) in incidence.rows.iter().enumerate().take(MOST_CYCLES + 1) {
            let share = |quantity, share| {
                let row = Row::of(by, group.clone(), quantity, Unit::Share, share);
                row.flagged(thin(visits))
            };
            let own = |rejected: Option<f64>, table: &Table| {
                table.fill(&[
                    ("cycle", Value::Count(cycle as i64)),
                    ("at_risk", Value::Count(at.at_risk as i64)),
                    ("bracket", Value::Text(bracket.to_owned())),
                    ("rejected", rejected.into()),
                ])
            };
            let rejected = at.competing.first();
            let passed = share("passed-by-cycle", &at.event);
            let beside = own(rejected.and_then(|share| share.value), table);
            table.rows.push(Row { n: visits, ..passed }.with(beside));
            let alone = own(None, table);
            table.rows.extend(rejected.map(|rejected| {
                let row = share("rejected-by-cycle", rejected);
                Row { n: visits, ..row }.with(alone.clone())
            }));
            if cycle > 0 && !left_competes {
                let hazard = Row::of(by, group.clone(), "hazard", Unit::Share, &at.hazard);
                table.rows.push(hazard.with(alone).flagged(thin(at.at_risk as f64)));
            }
        }
        let median = median_row((by, group), bracket, visits, incidence.median, table);
        table.rows.push(median.flagged(thin(visits)));
    }
}

/// The cycle by which half have passed, with the cycles between which it lies.
fn median_row(
    (by, group): (&'static str, &Group),
    bracket: &str,
    visits: f64,
    median: Median,
    table: &Table,
) -> Row {
    let cycle = |value: Option<usize>| value.map(|cycle| cycle as f64);
    let method = "Aalen-Johansen median";
    let row = Row::figure(by, group.clone(), "median-cycles", Unit::Cycles, f64::NAN, method);
    let bracket = Value::Text(bracket.to_owned());
    Row {
        n: visits,
        estimate: cycle(median.value),
        low: cycle(median.low),
        high: cycle(median.high),
        ..row
    }
    .with(table.fill(&[("at_risk", Value::Count(visits as i64)), ("bracket", bracket)]))
}

fn share_row(
    evidence: &Evidence,
    by: &'static str,
    group: Group,
    quantity: &'static str,
    events: i64,
    n: i64,
) -> Row {
    let estimate: Estimate = wilson(events as f64, n as f64, evidence.rules().level);
    Row::of(by, group, quantity, Unit::Share, &estimate)
        .with(vec![Value::Missing; OWN.len()])
        .flagged((n < evidence.rules().least_count.into()).then_some(Flag::Thin))
}

/// What cleaning leaves, and what it does to an end face that was clean.
fn cleaning_rows(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    let sums = ["cycles", "contaminated", "while_clean_seen", "soiled"];
    for (by, columns) in [("fleet", &[][..]), ("treatment", &["method"][..])] {
        for cell in evidence.cells("cleanings", &evidence.look_back(), columns, &sums)? {
            let group = || Group::of(columns, &cell.group);
            let [cycles, contaminated, seen, soiled] = std::array::from_fn(|at| cell.sums[at]);
            table.rows.push(share_row(
                evidence,
                by,
                group(),
                "left-contaminated",
                contaminated,
                cycles,
            ));
            if seen > 0 {
                table.rows.push(share_row(evidence, by, group(), "soiled", soiled, seen));
            }
        }
    }
    Ok(())
}

/// Visits that began with a cleaning that nobody had looked before. No tool reaches a sealed lens.
fn unseen_rows(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    let only = evidence.look_back().with("row", &["routine", "prompted", "again"]);
    for (by, columns) in [("fleet", &[][..]), ("stage", &["stage"][..])] {
        for cell in evidence.cells("visits", &only, columns, &["visits", "looks"])? {
            let (visits, looks) = (cell.sums[0], cell.sums[1]);
            let group = Group::of(columns, &cell.group);
            table.rows.push(share_row(
                evidence,
                by,
                group,
                "cleaned-unseen",
                visits - looks,
                visits,
            ));
        }
    }
    Ok(())
}
