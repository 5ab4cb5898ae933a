//! 5.3, Q3: which matings were made with both ends inspected and passing.

use super::evidence::{Evidence, Grouping};
use super::flag::Flag;
use super::table::{Group, Row, Table, Unit, Value};
use crate::derive::{Cell, Coverage, DeriveError, Only};
use crate::stats::wilson;

const OWN: &[&str] = &["base"];
const GROUPINGS: &[Grouping] =
    &[("fleet", &[]), ("stage", &["stage"]), ("family", &["family"]), ("site", &["site"])];

/// The table of coverage.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn coverage(evidence: &Evidence) -> Result<Table, DeriveError> {
    let mut table = Table::empty("coverage", OWN);
    for (by, columns) in GROUPINGS {
        grouped(evidence, ("matings", &evidence.period()), by, columns, &mut table)?;
    }
    // Weeks show the trend behind the period.
    grouped(evidence, ("mating_weeks", &Only::all()), "week", &["week"], &mut table)?;
    reseats(evidence, &mut table)?;
    silent_months(evidence, &mut table)?;
    Ok(table)
}

/// The classes of every group, from a table of matings.
fn grouped(
    evidence: &Evidence,
    (matings, only): (&'static str, &Only),
    by: &'static str,
    columns: &[&'static str],
    table: &mut Table,
) -> Result<(), DeriveError> {
    let with_class: Vec<&str> = columns.iter().copied().chain(["coverage"]).collect();
    let cells = evidence.cells(matings, only, &with_class, &["matings"])?;
    let class_at = columns.len();
    for chunk in cells.chunk_by(|a, b| a.group[..class_at] == b.group[..class_at]) {
        let group = Group::of(columns, &chunk[0].group);
        class_rows(evidence, by, &group, chunk, class_at, table);
    }
    Ok(())
}

fn class_rows(
    evidence: &Evidence,
    by: &'static str,
    group: &Group,
    cells: &[Cell],
    class_at: usize,
    table: &mut Table,
) {
    let count = |class: &str| -> i64 {
        cells.iter().filter(|cell| cell.group[class_at] == class).map(|cell| cell.sums[0]).sum()
    };
    let all: i64 = Coverage::WORDS.iter().map(|class| count(class)).sum();
    let known = all - count("unknown");
    for (base, n) in [("all", all), ("known", known)] {
        for class in Coverage::WORDS.iter().filter(|class| base == "all" || **class != "unknown") {
            table.rows.push(share(evidence, by, group.clone(), class, count(class), n, base));
        }
    }
    let skipped = count("one") + count("none");
    table.rows.push(share(evidence, by, group.clone(), "skipped", skipped, known, "known"));
}

fn share(
    evidence: &Evidence,
    by: &'static str,
    group: Group,
    quantity: &'static str,
    events: i64,
    n: i64,
    base: &str,
) -> Row {
    let estimate = wilson(events as f64, n as f64, evidence.rules().level);
    Row::of(by, group, quantity, Unit::Share, &estimate)
        .with(vec![Value::Text(base.to_owned())])
        .flagged((n < evidence.rules().least_count.into()).then_some(Flag::Thin))
}

fn reseats(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    for cell in
        evidence.cells("matings", &evidence.period(), &["coverage"], &["matings", "reseats"])?
    {
        let group = Group::of(&["coverage"], &cell.group);
        table.rows.push(share(
            evidence,
            "coverage",
            group,
            "reseat",
            cell.sums[1],
            cell.sums[0],
            "all",
        ));
    }
    Ok(())
}

/// Months without a look in which a site cleaned, or mated more than a handful.
fn silent_months(evidence: &Evidence, table: &mut Table) -> Result<(), DeriveError> {
    let sums = ["looks", "cleanings", "matings"];
    let months = evidence.frame("site_months")?;
    for cell in months.cells(&Only::all(), &["month", "site"], &sums)? {
        let [looks, cleanings, matings] = std::array::from_fn(|at| cell.sums[at]);
        if looks == 0 && (cleanings > 0 || matings > evidence.rules().silent_matings.into()) {
            let group = Group::of(&["month", "site"], &cell.group);
            let mut row = Row::figure(
                "site+month",
                group,
                "silent-month",
                Unit::Count,
                matings as f64,
                "count",
            );
            (row.n, row.events) = (matings as f64, Some(cleanings));
            table.rows.push(row.with(vec![Value::Missing]));
        }
    }
    Ok(())
}
