//! The header of an export: which column stands where.

use std::io;

use crate::intake::error::IntakeError;
use crate::intake::reject::reason::{row_fault, text_fault};
use crate::settings::Dialect;
use crate::tabular::{Cells, TableRows, joined_names, numbered_names, plain_name, told_apart};

/// The columns of an export, in order.
#[derive(Clone, Debug)]
pub struct Header {
    /// Name of the file, for messages.
    pub file: String,
    /// Line where it stands, from 1.
    pub line: u64,
    /// Trimmed names, as many as the header has cells. A column without one is `column` and its
    /// number; of a name that stands there k times each is the name, a blank, `#` and 1 to k.
    pub names: Vec<String>,
    /// Cells up to the last one with a name: fewer are a short row.
    pub least: usize,
}

/// Reads the header: the first rows with any text, as many as the dialect says, and the row of
/// units behind them. None if the whole file is blank.
///
/// # Errors
/// When a row of it cannot be read (`failed` makes an error of the stream's), or only the lines
/// before the header are there.
pub fn read_header<R: TableRows + ?Sized>(
    rows: &mut R,
    dialect: &Dialect,
    file: &str,
    failed: &dyn Fn(io::Error) -> IntakeError,
) -> Result<Option<Header>, IntakeError> {
    let first_line = rows.line();
    let mut written: Vec<Vec<String>> = Vec::new();
    let mut line = 0;
    while written.len() < dialect.header_rows {
        let Some((at, cells)) = next_texts(rows, dialect, file, failed)? else { break };
        line = if written.is_empty() { at } else { line };
        written.push(cells);
    }
    if written.is_empty() {
        if first_line > 1 {
            return Err(IntakeError::NoHeader { file: file.to_owned(), line: first_line });
        }
        return Ok(None);
    }
    if dialect.units_row {
        next_texts(rows, dialect, file, failed)?;
    }
    let names = joined_names(&written);
    let least = names.iter().rposition(|name| !name.is_empty()).map_or(0, |last| last + 1);
    Ok(Some(Header { file: file.to_owned(), line, names: told_apart(&names), least }))
}

/// Line and trimmed cells of the next row with any text.
fn next_texts<R: TableRows + ?Sized>(
    rows: &mut R,
    dialect: &Dialect,
    file: &str,
    failed: &dyn Fn(io::Error) -> IntakeError,
) -> Result<Option<(u64, Vec<String>)>, IntakeError> {
    let bad = |line, reason| IntakeError::BadHeader { file: file.to_owned(), line, reason };
    while let Some(row) = rows.next_row().map_err(failed)? {
        if let Some(fault) = row.fault {
            return Err(bad(row.line, row_fault(fault)));
        }
        let cells =
            Cells::of(&row).map_err(|fault| bad(row.line, text_fault(fault, dialect.encoding)))?;
        if !cells.are_blank() {
            let texts = (0..cells.count()).map(|index| cells.get(index).to_owned()).collect();
            return Ok(Some((row.line, texts)));
        }
    }
    Ok(None)
}

impl Header {
    /// The header of rows that have none: as wide as the first of them.
    pub fn numbered(file: &str, line: u64, width: usize) -> Self {
        let names = numbered_names(width);
        Self { file: file.to_owned(), line, names, least: width }
    }

    /// Where the column of that name stands, from 0; blanks and line breaks in it are all the same.
    ///
    /// # Errors
    /// When it stands nowhere or twice.
    pub fn position(&self, column: &str) -> Result<usize, IntakeError> {
        let wanted = plain_name(column);
        if let Some(place) = self.names.iter().position(|name| *name == wanted) {
            return Ok(place);
        }
        let first = self.names.iter().position(|name| *name == format!("{wanted} #1"));
        let second = self.names.iter().position(|name| *name == format!("{wanted} #2"));
        Err(match (first, second) {
            (Some(first), Some(second)) => IntakeError::DoubleColumn {
                file: self.file.clone(),
                line: self.line,
                column: column.to_owned(),
                first: first + 1,
                second: second + 1,
            },
            _ => IntakeError::MissingColumn {
                file: self.file.clone(),
                line: self.line,
                column: column.to_owned(),
                found: self.names.clone(),
                nearest: self.nearest(column),
            },
        })
    }

    /// The name most like `column`, if one is like it at all.
    fn nearest(&self, column: &str) -> Option<String> {
        let wanted = column.to_lowercase();
        let likeness = |name: &str| strsim::jaro_winkler(&name.to_lowercase(), &wanted);
        let best = self.names.iter().max_by(|a, b| likeness(a).total_cmp(&likeness(b)))?;
        (likeness(best) > 0.7).then(|| best.clone())
    }
}
