//! 5.2, Q2: how many cleaning cycles until end faces pass.
//!
//! Visits whose first look failed for contamination, by cycle: passed; rejected (or damage
//! uncovered) as a competing event; the rest censored. Left failing is censored in one reading and
//! competing in the other, since people may give up because dirt is stubborn: the two bracket the
//! truth. Aalen-Johansen; hazards with Wilson.

use super::evidence::{Evidence, Grouping};
use super::flag::Flag;
use super::table::{Group, Row, Table, Unit, Value};
use crate::derive::{Cell, DeriveError, Only};
use crate::stats::{Estimate, Incidence, Step, aalen_johansen, wilson};

const OWN: &[&str] = &["cycle", "at_risk", "bracket", "rejected"];
const SUMS: &[&str] = &["passed", "rejected", "left", "censored", "cleanings"];
/// Common practice gives up after three to five cycles; what comes after the fifth is beyond it.
const PRACTICE: u32 = 5;
/// Cycles that rows are printed for.
const MOST_CYCLES: usize = 20;

/// One cell's exits by cycle, cycle 0 first.
struct Exits {
    /// passed, rejected, left, censored, cleanings.
    by_cycle: Vec<[u64; 5]>,
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
            if by == "fleet" {
                beyond_practice(evidence, &exits, &mut table);
            }
        }
    }
    cleaning_rows(evidence, &mut table)?;
    unseen_rows(evidence, &mut table)?;
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
    for (bracket, left_competes) in [("censored", false), ("competing", true)] {
        let incidence = incidence(exits, left_competes, evidence.rules().level);
        let text = || Value::Text(bracket.to_owned());
        let visits = incidence.rows.first().map_or(0, |row| row.at_risk) as f64;
        for (cycle, row) in incidence.rows.iter().enumerate().take(MOST_CYCLES + 1) {
            let rejected = row.competing.first().and_then(|share| share.value);
            let own = |rejected: Option<f64>| {
                vec![
                    Value::Count(cycle as i64),
                    Value::Count(row.at_risk as i64),
                    text(),
                    rejected.into(),
                ]
            };
            let thin = ((row.at_risk as f64) < least).then_some(Flag::Thin);
            let mut passed = Row::of(by, group.clone(), "passed-by-cycle", Unit::Share, &row.event);
            passed.n = visits;
            table
                .rows
                .push(passed.with(own(rejected)).flagged((visits < least).then_some(Flag::Thin)));
            if let Some(share) = row.competing.first() {
                let mut rejected =
                    Row::of(by, group.clone(), "rejected-by-cycle", Unit::Share, share);
                rejected.n = visits;
                table
                    .rows
                    .push(rejected.with(own(None)).flagged((visits < least).then_some(Flag::Thin)));
            }
            if cycle > 0 && !left_competes {
                let hazard = Row::of(by, group.clone(), "hazard", Unit::Share, &row.hazard);
                table.rows.push(hazard.with(own(None)).flagged(thin));
            }
        }
        let cycle = |value: Option<usize>| value.map(|cycle| cycle as f64);
        let median = incidence.median;
        let mut row = Row::figure(
            by,
            group.clone(),
            "median-cycles",
            Unit::Cycles,
            f64::NAN,
            "Aalen-Johansen median",
        );
        (row.n, row.estimate) = (visits, cycle(median.value));
        (row.low, row.high) = (cycle(median.low), cycle(median.high));
        let own = vec![Value::Missing, Value::Count(visits as i64), text(), Value::Missing];
        table.rows.push(row.with(own).flagged((visits < least).then_some(Flag::Thin)));
    }
}

/// Shares of passes and of cleanings that came after the fifth cycle.
fn beyond_practice(evidence: &Evidence, exits: &Exits, table: &mut Table) {
    for (quantity, column) in [("passes-beyond-five", 0), ("cleanings-beyond-five", 4)] {
        let cycles = || exits.by_cycle.iter().enumerate().skip(1);
        let all: u64 = cycles().map(|(_, counts)| counts[column]).sum();
        let beyond: u64 = cycles()
            .filter(|(cycle, _)| *cycle > PRACTICE as usize)
            .map(|(_, counts)| counts[column])
            .sum();
        table.rows.push(share_row(
            evidence,
            "fleet",
            Group::default(),
            quantity,
            beyond as i64,
            all as i64,
        ));
    }
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

/// Visits that began with a cleaning that nobody had looked before.
fn unseen_rows(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    for (by, columns) in [("fleet", &[][..]), ("stage", &["stage"][..])] {
        for cell in
            evidence.cells("visits", &evidence.look_back(), columns, &["visits", "looks"])?
        {
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
