//! The doubts about a file as sentences with their evidence.

use super::line_ends::mixed;
use super::search::Found;
use super::{Detected, Doubt, Sample};
use crate::settings::Separator;

/// Of two separators of this ratio of worth the choice is said to be a doubt.
const CLOSE: f64 = 0.8;
/// Lines that a doubt names.
const NAMED: usize = 10;

/// Adds what the parts found leave uncertain.
pub fn add(detected: &mut Detected, found: &Found, sample: &Sample) {
    let mut doubts = Vec::new();
    doubts.extend(mixed(detected.line_ends));
    doubts.extend(separators(found));
    doubts.extend(rows(detected));
    doubts.extend(around(detected));
    if !sample.whole {
        doubts.push(Doubt::new(
            "only the beginning of the file was looked at",
            format!("{} bytes", sample.head.len()),
        ));
    }
    detected.doubts.append(&mut doubts);
}

/// A separator's name for people.
pub fn name(separator: &Separator) -> String {
    match separator {
        Separator::Byte(b'\t') => "tab".to_owned(),
        Separator::Byte(b' ') => "blank".to_owned(),
        Separator::Byte(byte @ 33..=126) => format!("\"{}\"", char::from(*byte)),
        Separator::Byte(byte) => format!("byte {byte:02X}"),
        Separator::Text(text) => format!("\"{text}\""),
        Separator::Blanks => "two or more blanks".to_owned(),
    }
}

fn separators(found: &Found) -> Option<Doubt> {
    let second = found.second.as_ref()?;
    let (first, other) = (&found.best, name(&second.marks.separator));
    let evidence = format!("scores {:.2} and {:.2}", first.score, second.score);
    if second.score < CLOSE * first.score {
        return None;
    }
    Some(if found.one_column {
        Doubt::new(
            format!("lines are taken for one column, though {other} cuts them nearly as well"),
            evidence,
        )
    } else {
        let name = name(&first.marks.separator);
        Doubt::new(
            format!("the separator is taken to be {name}, though {other} cuts nearly as well"),
            evidence,
        )
    })
}

/// Rows of the main table that are not as they should be.
fn rows(detected: &Detected) -> Vec<Doubt> {
    let mut doubts = Vec::new();
    if let Some(table) = detected.tables.get(detected.main) {
        if detected.uneven_rows > 0 {
            let rows = detected.uneven.iter().map(|row| format!("{} ({})", row.line, row.cells));
            doubts.push(Doubt::new(
                format!(
                    "{} not have {} cells",
                    counted(detected.uneven_rows, "row does", "rows do"),
                    table.width
                ),
                format!("line (cells): {}", some(rows)),
            ));
        }
        if table.trailing_separator {
            doubts.push(Doubt::new(
                "each row ends with a separator and nothing behind it, which is left out",
                format!("all {} rows seen", table.rows),
            ));
        }
    }
    doubts.extend(otherwise(detected));
    doubts
}

/// Rows of the main table that the strict reader does not read as they are meant.
fn otherwise(detected: &Detected) -> Vec<Doubt> {
    let mut doubts = Vec::new();
    if !detected.faulty.is_empty() {
        let lines = detected.faulty.iter().map(|row| row.line.to_string());
        doubts.push(Doubt::new(
            "rows with a stray quote are read as a person would",
            format!("lines {}", some(lines)),
        ));
    }
    if !detected.reread.is_empty() {
        let rows =
            detected.reread.iter().map(|row| format!("{} ({})", row.line, name(&row.separator)));
        doubts.push(Doubt::new(
            "rows are written with another separator",
            format!("line (separator): {}", some(rows)),
        ));
    }
    if !detected.empty_rows.is_empty() {
        let lines = detected.empty_rows.iter().map(u64::to_string);
        doubts.push(Doubt::new(
            "rows whose cells are all empty are no records; these are left out",
            format!("lines {}", some(lines)),
        ));
    }
    if !detected.repeated_headers.is_empty() {
        let lines = detected.repeated_headers.iter().map(u64::to_string);
        doubts.push(Doubt::new(
            "the header is repeated between rows; these are left out",
            format!("lines {}", some(lines)),
        ));
    }
    doubts
}

/// What stands around the main table.
fn around(detected: &Detected) -> Vec<Doubt> {
    let mut doubts = Vec::new();
    if detected.tables.len() > 1 {
        let tables = detected.tables.iter().map(|table| {
            format!("line {}: {} rows of {} cells", table.first_line, table.rows, table.width)
        });
        doubts.push(Doubt::new(
            format!("{} tables stand in the file; the largest is meant", detected.tables.len()),
            some(tables),
        ));
    }
    for (lines, place) in [(&detected.preamble, "before"), (&detected.footers, "behind")] {
        if let Some(first) = lines.first() {
            doubts.push(Doubt::new(
                format!(
                    "{} {place} the table {} no part of it",
                    counted(lines.len() as u64, "line", "lines"),
                    if lines.len() == 1 { "is" } else { "are" }
                ),
                // Its text may name people.
                match first.line {
                    Some(line) => format!("the first of them is line {line}"),
                    None => "at the end of the file".to_owned(),
                },
            ));
        }
    }
    doubts
}

/// A number with the word for one or for several.
fn counted(count: u64, one: &str, several: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { several })
}

fn some(entries: impl Iterator<Item = String>) -> String {
    let mut entries: Vec<String> = entries.take(NAMED + 1).collect();
    if entries.len() > NAMED {
        entries.truncate(NAMED);
        entries.push("...".to_owned());
    }
    entries.join(", ")
}
