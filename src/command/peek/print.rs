//! The text of `motetrail peek FILE`: how the file is read, a line a column, the doubts, and what to
//! paste into the settings. At most [`PAGE`] columns wide, the lines to paste apart, which must not be
//! broken. No text of the file reaches the terminal as it is.

use std::io::{self, Write};

use super::column_line;
use super::facts::{Lines, PeekFacts, TableFacts, Told};
use super::shown::{PAGE, quoted, shown, wrapped};
use crate::draft::holds_people;

/// Columns of the labels on the left.
const LABEL: usize = 16;
/// Most lines of the file shown in one place, and characters of each.
const MOST_LINES: usize = 5;
const LONGEST_LINE: usize = 120;

/// Prints what was found.
///
/// # Errors
/// Those of writing.
pub fn print(facts: &PeekFacts, out: &mut dyn Write) -> io::Result<()> {
    for line in wrapped(&shown(&facts.file), PAGE) {
        writeln!(out, "{line}")?;
    }
    file(facts, out)?;
    table(facts, out)?;
    columns(facts, out)?;
    doubts(facts, out)?;
    settings(facts, out)
}

/// The file as a whole and its text.
fn file(facts: &PeekFacts, out: &mut dyn Write) -> io::Result<()> {
    entry(out, "size", &counted(facts.bytes, "byte"))?;
    entry(out, "packing", facts.packing.as_deref().unwrap_or("none"))?;
    entry(out, "format", &facts.format)?;
    if let Some(sample) = &facts.sample {
        entry(out, "looked at", sample)?;
    }
    if let Some(text) = &facts.text {
        told(out, "encoding", &text.encoding)?;
        told(out, "separator", &text.separator)?;
        told(out, "quotes", &text.quote)?;
        told(out, "escapes", &text.escape)?;
        told(out, "line ends", &text.line_ends)?;
    }
    Ok(())
}

/// The table in it and what stands around it.
fn table(facts: &PeekFacts, out: &mut dyn Write) -> io::Result<()> {
    lines(out, "before header", &facts.before_header)?;
    let header = match (facts.header_rows, facts.header_line) {
        (0, _) | (_, None) => "none; columns are numbered".to_owned(),
        (1, Some(line)) => format!("line {line}"),
        (rows, Some(line)) => format!("{rows} rows from line {line}, joined"),
    };
    entry(out, "header", &header)?;
    if let Some(line) = facts.units_row {
        entry(out, "units", &format!("line {line}"))?;
    }
    match &facts.tables[..] {
        [] => entry(out, "table", "none")?,
        [only] => entry(out, "table", &extent(only))?,
        several => {
            entry(out, "tables", &several.len().to_string())?;
            for table in several {
                let mark = if table.main { "; this one is read" } else { "" };
                detail(out, &format!("{}{mark}", extent(table)))?;
            }
        }
    }
    let mut behind = facts.footers.clone();
    if facts.columns.iter().any(|column| holds_people(&column.name)) {
        // What stands behind the table may be rows of it that are cut short, names among them.
        behind.first.clear();
    }
    lines(out, "behind it", &behind)?;
    uneven(facts, out)
}

fn extent(table: &TableFacts) -> String {
    let from = table.from;
    let lines = match table.to {
        Some(to) => format!("lines {from} to {to}"),
        None => format!("line {from} and on"),
    };
    let rows = counted(table.rows, "row");
    format!("{lines}: {}, {rows}", counted(table.columns as u64, "column"))
}

fn uneven(facts: &PeekFacts, out: &mut dyn Write) -> io::Result<()> {
    if facts.uneven.count == 0 {
        return entry(out, "uneven rows", "none");
    }
    let first = facts.uneven.first.iter().take(MOST_LINES);
    let first: Vec<String> = first
        .map(|(line, cells)| format!("line {line} has {}", counted(*cells as u64, "cell")))
        .collect();
    let more = if facts.uneven.count > first.len() as u64 { ", ..." } else { "" };
    entry(out, "uneven rows", &format!("{}: {}{more}", facts.uneven.count, first.join(", ")))
}

fn columns(facts: &PeekFacts, out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "\nColumns")?;
    if facts.columns.is_empty() {
        return writeln!(out, "  none");
    }
    writeln!(out, "{}", column_line::heading())?;
    for (at, column) in facts.columns.iter().enumerate() {
        writeln!(out, "{}", column_line::line(at + 1, column))?;
    }
    Ok(())
}

/// Doubts of the file, then of its columns.
fn doubts(facts: &PeekFacts, out: &mut dyn Write) -> io::Result<()> {
    let of_file = facts.doubts.iter().map(|doubt| format!("{} ({})", doubt.what, doubt.evidence));
    let of_columns = facts.columns.iter().enumerate().flat_map(|(at, column)| {
        let name = quoted(&column.name.chars().take(LONGEST_LINE).collect::<String>());
        let place = format!("column {} {name}", at + 1);
        // The evidence of a doubt is cells.
        let shown = if holds_people(&column.name) { &[][..] } else { column.doubts.as_slice() };
        shown.iter().map(move |doubt| format!("{place}: {doubt}"))
    });
    let all: Vec<String> = of_file.chain(of_columns).collect();
    if all.is_empty() {
        return writeln!(out, "\nNo doubts.");
    }
    writeln!(out, "\nDoubts")?;
    for doubt in all {
        hanging(out, "  - ", &shown(&doubt))?;
    }
    Ok(())
}

/// What to paste; long lines stay whole.
fn settings(facts: &PeekFacts, out: &mut dyn Write) -> io::Result<()> {
    if facts.settings.is_empty() {
        return writeln!(out, "\nIts [[source]] needs no key for this: all is as by default.");
    }
    writeln!(out, "\nFor its [[source]] in the settings")?;
    facts.settings.iter().try_for_each(|line| writeln!(out, "{}", shown(line)))
}

fn told(out: &mut dyn Write, label: &str, told: &Told) -> io::Result<()> {
    match &told.evidence {
        Some(evidence) => entry(out, label, &format!("{} ({evidence})", told.what)),
        None => entry(out, label, &told.what),
    }
}

fn lines(out: &mut dyn Write, label: &str, lines: &Lines) -> io::Result<()> {
    if lines.count == 0 {
        return Ok(());
    }
    entry(out, label, &counted(lines.count, "line"))?;
    for (line, text) in lines.first.iter().take(MOST_LINES) {
        let mut kept: String = text.chars().take(LONGEST_LINE).collect();
        if kept.len() < text.len() {
            kept.push('…');
        }
        detail(out, &format!("{line}: {}", quoted(&kept)))?;
    }
    Ok(())
}

/// A label with its text.
fn entry(out: &mut dyn Write, label: &str, text: &str) -> io::Result<()> {
    hanging(out, &format!("  {label:<LABEL$}"), &shown(text))
}

/// A line more to an entry.
fn detail(out: &mut dyn Write, text: &str) -> io::Result<()> {
    hanging(out, &" ".repeat(LABEL + 4), &shown(text))
}

/// A harmless text behind a lead, its further lines indented as far.
fn hanging(out: &mut dyn Write, lead: &str, text: &str) -> io::Result<()> {
    let indent = lead.len();
    for (at, line) in wrapped(text, PAGE - indent).iter().enumerate() {
        let lead = if at == 0 { lead } else { &" ".repeat(indent) };
        writeln!(out, "{}", format!("{lead}{line}").trim_end())?;
    }
    Ok(())
}

fn counted(count: u64, noun: &str) -> String {
    let plural = if count == 1 { "" } else { "s" };
    format!("{count} {noun}{plural}")
}
