//! `motetrail rejected`: every quarantined row, and what would mend it.

use std::collections::BTreeMap;
use std::io::{self, Write};
use std::path::PathBuf;

use clap::Args;

use super::log::Log;
use super::outcome::Outcome;
use super::printable::printable;
use super::terminal;
use crate::report::harmless;
use crate::settings;
use crate::store::{Quarantined, Store};
use crate::tabular::detect::write_row;

/// List every row that was refused, as CSV: where it stands, what was found, what was expected.
///
/// Rows that one change of the map or of the export would mend stand together, the largest group first. People's names
/// are masked, as they are in the store. With --summary only the groups are printed, with their counts.
#[derive(Args, Debug)]
#[command(after_help = "Example:\n  motetrail rejected fleet.toml > rejected.csv")]
pub struct Rejected {
    /// The fleet's settings.
    #[arg(value_name = "FLEET.TOML")]
    settings: PathBuf,
    /// Print a line a group instead of a line a row.
    #[arg(long)]
    summary: bool,
}

/// Most rows that are listed; a table of more is read by nobody.
const MOST_ROWS: usize = 1_000_000;

/// What stands before and between the two halves of a reason.
const FOUND: &str = "found ";
const EXPECTED: &str = ", expected ";

/// Columns of the table, beside the group.
const COLUMNS: [&str; 9] =
    ["group", "rows", "source", "file", "line", "table", "column", "found", "expected"];

impl Rejected {
    /// Runs the command.
    ///
    /// # Errors
    /// Settings or store.
    pub fn run(self, log: &Log) -> anyhow::Result<Outcome> {
        let plan = settings::read(&self.settings)?;
        let store = Store::inspect(&plan)?;
        let rows = store.quarantine(MOST_ROWS)?;
        let groups = grouped(&rows);
        let mut out = terminal::stdout();
        if self.summary {
            for group in &groups {
                writeln!(out, "{:>9}  {}", group.rows.len(), printable(&group.mend()))?;
            }
        } else {
            write_row(&COLUMNS.map(str::as_bytes), &mut out)?;
            for (number, group) in groups.iter().enumerate() {
                for row in &group.rows {
                    write_one(number + 1, group.rows.len(), row, &mut out)?;
                }
            }
        }
        out.flush()?;
        log.note(&format!("{} rows rejected, in {} groups", rows.len(), groups.len()));
        Ok(Outcome::Done)
    }
}

/// Rows that one change would mend.
struct Group<'a> {
    key: Key,
    rows: Vec<&'a Quarantined>,
}

/// Source, table, column, and what was expected there.
type Key = (String, String, String, String);

impl Group<'_> {
    /// What the rows have in common, and what to do.
    fn mend(&self) -> String {
        let (source, table, column, expected) = &self.key;
        let place = [table.as_str(), column.as_str()];
        let place: Vec<&str> = place.into_iter().filter(|part| !part.is_empty()).collect();
        let place = if place.is_empty() { "the whole row".to_owned() } else { place.join(" ") };
        format!("{source}: {place}: expected {expected}")
    }
}

/// The groups, the largest first.
fn grouped(rows: &[Quarantined]) -> Vec<Group<'_>> {
    let mut groups: BTreeMap<Key, Vec<&Quarantined>> = BTreeMap::new();
    for row in rows {
        let (_, expected) = found_and_expected(&row.reason);
        let column = row.column.clone().unwrap_or_default();
        let key = (row.source.clone(), row.table.clone(), column, expected);
        groups.entry(key).or_default().push(row);
    }
    let mut groups: Vec<Group> =
        groups.into_iter().map(|(key, rows)| Group { key, rows }).collect();
    groups.sort_by_key(|group| std::cmp::Reverse(group.rows.len()));
    groups
}

/// A reason, `found X, expected Y`, cut in two; of several parts of a map that refused a row, what each expected; a reason
/// of another form is all expected.
fn found_and_expected(reason: &str) -> (String, String) {
    let several: Vec<(&str, &str)> = reason
        .split(FOUND)
        .skip(1)
        .filter_map(|part| part.trim_end_matches("; ").split_once(EXPECTED))
        .collect();
    if several.len() > 1 && several.len() == reason.matches(EXPECTED).count() {
        let mut found: Vec<&str> = Vec::new();
        several.iter().for_each(|(one, _)| {
            if !found.contains(one) {
                found.push(one);
            }
        });
        let expected: Vec<&str> = several.iter().map(|(_, expected)| *expected).collect();
        return (found.join("; "), expected.join(" or "));
    }
    let plain = reason.strip_prefix(FOUND).unwrap_or(reason);
    match plain.rsplit_once(EXPECTED).or_else(|| plain.rsplit_once("; expected ")) {
        Some((found, expected)) => (found.to_owned(), expected.to_owned()),
        None => (String::new(), reason.to_owned()),
    }
}

fn write_one(group: usize, rows: usize, row: &Quarantined, out: &mut dyn Write) -> io::Result<()> {
    let (found, expected) = found_and_expected(&row.reason);
    let texts = [
        group.to_string(),
        rows.to_string(),
        harmless(&row.source),
        harmless(&row.file),
        row.line.to_string(),
        row.table.clone(),
        harmless(row.column.as_deref().unwrap_or_default()),
        harmless(&found),
        harmless(&expected),
    ];
    let cells: Vec<&[u8]> = texts.iter().map(|text| text.as_bytes()).collect();
    write_row(&cells, out)
}
