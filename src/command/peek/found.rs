//! What was found, in the words in which it is printed.

use std::fs;
use std::io;
use std::path::Path;

use super::facts::{DoubtFact, Lines, PeekFacts, TableFacts, TextFacts, Told, Uneven};
use super::rows::Taken;
use super::sample::Kind;
use crate::settings::{Dialect, Separator};
use crate::tabular::detect::{Detected, Extent, Line, LineEnds};
use crate::tabular::{Compression, SheetFact, WorkbookFacts};

/// Lines and rows of a kind that are shown.
const SHOWN: usize = 5;

/// The facts of a file of which nothing is known but its size and kind.
///
/// # Errors
/// A file that is gone.
pub fn no_facts(path: &Path, kind: Kind, format: String) -> io::Result<PeekFacts> {
    let packed = kind.compression != Compression::None;
    Ok(PeekFacts {
        file: path.display().to_string(),
        bytes: fs::metadata(path)?.len(),
        packing: packed.then(|| kind.compression.name().to_owned()),
        format,
        sample: None,
        text: None,
        before_header: Lines::default(),
        header_rows: 0,
        header_line: None,
        units_row: None,
        tables: Vec::new(),
        footers: Lines::default(),
        uneven: Uneven::default(),
        columns: Vec::new(),
        doubts: Vec::new(),
        settings: Vec::new(),
    })
}

/// Adds how text is written and where its tables stand.
pub fn facts_of_text(detected: &Detected, facts: &mut PeekFacts) {
    let dialect = &detected.dialect;
    let told = |what: String| Told { what, evidence: None };
    let mark = detected.bom.then(|| "a byte order mark stands at the beginning".to_owned());
    facts.text = Some(TextFacts {
        encoding: Told { what: dialect.encoding.name(), evidence: mark },
        separator: told(separator(&dialect.separator)),
        quote: told(dialect.quote.map_or("none".to_owned(), character)),
        escape: told(escape(dialect)),
        line_ends: told(line_ends(detected.line_ends)),
    });
    table_facts(detected, facts);
}

/// Adds where the tables stand, what stands around them and what is not certain.
pub fn table_facts(detected: &Detected, facts: &mut PeekFacts) {
    facts.before_header = lines(&detected.preamble);
    facts.footers = lines(&detected.footers);
    facts.units_row = detected.units_row;
    if let Some(main) = detected.tables.get(detected.main) {
        facts.header_rows = main.header_rows;
        facts.header_line = (main.header_rows > 0).then_some(main.first_line);
    }
    let table = |(place, extent): (usize, &Extent)| TableFacts {
        from: extent.first_line,
        to: extent.last_line,
        columns: extent.width,
        rows: extent.rows,
        main: place == detected.main,
    };
    facts.tables = detected.tables.iter().enumerate().map(table).collect();
    let uneven = detected.uneven.iter().take(SHOWN).map(|row| (row.line, row.cells));
    facts.uneven = Uneven { count: detected.uneven_rows, first: uneven.collect() };
    facts.doubts = detected
        .doubts
        .iter()
        .map(|doubt| DoubtFact { what: doubt.what.clone(), evidence: doubt.evidence.clone() })
        .collect();
}

/// The one table of a file that carries the names of its columns.
pub fn named_table(taken: Taken, columns: usize) -> Vec<TableFacts> {
    let to = (!taken.more).then_some(taken.last);
    vec![TableFacts { from: 1, to, columns, rows: taken.rows as u64, main: true }]
}

/// What is not certain of a workbook, or easily overlooked in it.
pub fn workbook_doubts(book: &WorkbookFacts) -> Vec<DoubtFact> {
    let mut doubts = Vec::new();
    let mut doubt = |what: &str, evidence: String| {
        doubts.push(DoubtFact { what: what.to_owned(), evidence });
    };
    let chosen = &book.sheets[book.chosen];
    if book.sheets.len() > 1 {
        let named: Vec<String> = book.sheets.iter().map(sheet).collect();
        let what = "The workbook has several sheets; the largest that is shown was looked at";
        doubt(what, named.join("; "));
    }
    if chosen.hidden_rows > 0 {
        let what = "Rows that the workbook does not show are read like all others";
        doubt(what, format!("{} rows are hidden", chosen.hidden_rows));
    }
    if chosen.formulas_without_value > 0 {
        let what = "Formulas that were saved without a value are read as empty";
        doubt(what, format!("{} of {}", chosen.formulas_without_value, chosen.formulas));
    }
    if book.dates_from_1904 {
        let what = "Dates are counted from 1904, as the workbook says";
        doubt(what, "a date four years off would show that it does not".to_owned());
    }
    doubts
}

fn sheet(fact: &SheetFact) -> String {
    let hidden = if fact.hidden { ", hidden" } else { "" };
    format!("{:?}: {} rows, {} columns{hidden}", fact.name, fact.rows, fact.columns)
}

fn lines(found: &[Line]) -> Lines {
    let first = found
        .iter()
        .take(SHOWN)
        .map(|line| (line.line.unwrap_or(0), line.text.trim_end().to_owned()));
    Lines { count: found.len() as u64, first: first.collect() }
}

fn separator(separator: &Separator) -> String {
    match separator {
        Separator::Byte(b',') => "comma".to_owned(),
        Separator::Byte(b';') => "semicolon".to_owned(),
        Separator::Byte(b'\t') => "tab".to_owned(),
        Separator::Byte(b' ') => "blank".to_owned(),
        Separator::Byte(byte) => character(*byte),
        Separator::Text(text) => text.to_string(),
        Separator::Blanks => "two or more blanks, or a tab".to_owned(),
    }
}

fn character(byte: u8) -> String {
    char::from(byte).to_string()
}

fn escape(dialect: &Dialect) -> String {
    match (dialect.escape, dialect.quote) {
        (Some(byte), _) => format!("{} before a character", character(byte)),
        (None, Some(_)) => "a quote doubled".to_owned(),
        (None, None) => "none".to_owned(),
    }
}

fn line_ends(ends: LineEnds) -> String {
    let kinds = [(ends.lf, "LF"), (ends.crlf, "CRLF"), (ends.cr, "CR")];
    let met: Vec<&(u64, &str)> = kinds.iter().filter(|(count, _)| *count > 0).collect();
    match met.as_slice() {
        [] => "none".to_owned(),
        [(_, only)] => (*only).to_owned(),
        several => {
            let each = several.iter().map(|(count, name)| format!("{count} {name}"));
            format!("mixed: {}", each.collect::<Vec<_>>().join(", "))
        }
    }
}
