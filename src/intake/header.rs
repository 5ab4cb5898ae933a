//! The header line: which column of the export stands where.

use std::io;

use super::cells::Cells;
use super::error::IntakeError;
use super::reader::Rows;
use super::reason::{row_fault, text_fault};
use crate::settings::Encoding;

/// The columns of an export, in order.
#[derive(Clone, Debug)]
pub struct Header {
    /// Name of the file, for messages.
    pub file: String,
    /// Line where it stands, from 1.
    pub line: u64,
    /// Trimmed names.
    pub names: Vec<String>,
}

/// Reads the header: the first row with any text. None if the whole file is blank.
///
/// # Errors
/// When the row cannot be read (`failed` makes an error of the stream's), or only the lines before the header are there.
pub fn read_header(
    rows: &mut Rows,
    encoding: Encoding,
    file: &str,
    failed: &dyn Fn(io::Error) -> IntakeError,
) -> Result<Option<Header>, IntakeError> {
    let first_line = rows.line();
    let bad = |line, reason| IntakeError::BadHeader { file: file.to_owned(), line, reason };
    while let Some(row) = rows.next_row().map_err(failed)? {
        if let Some(fault) = row.fault {
            return Err(bad(row.line, row_fault(fault)));
        }
        let cells = match Cells::of(&row) {
            Ok(cells) => cells,
            Err(fault) => return Err(bad(row.line, text_fault(fault, encoding))),
        };
        if !cells.are_blank() {
            let names = (0..cells.count()).map(|index| cells.get(index).to_owned()).collect();
            return Ok(Some(Header { file: file.to_owned(), line: row.line, names }));
        }
    }
    if first_line > 1 {
        return Err(IntakeError::NoHeader { file: file.to_owned(), line: first_line });
    }
    Ok(None)
}

impl Header {
    /// Where the column of that exact name stands, from 0.
    ///
    /// # Errors
    /// When it stands nowhere or twice.
    pub fn position(&self, column: &str) -> Result<usize, IntakeError> {
        let mut places = (0..self.names.len()).filter(|&index| self.names[index] == column);
        match (places.next(), places.next()) {
            (Some(place), None) => Ok(place),
            (Some(first), Some(second)) => Err(IntakeError::DoubleColumn {
                file: self.file.clone(),
                line: self.line,
                column: column.to_owned(),
                first: first + 1,
                second: second + 1,
            }),
            (None, _) => Err(IntakeError::MissingColumn {
                file: self.file.clone(),
                line: self.line,
                column: column.to_owned(),
                found: self.names.clone(),
                nearest: self.nearest(column),
            }),
        }
    }

    /// The name most like `column`, if one is like it at all.
    fn nearest(&self, column: &str) -> Option<String> {
        let wanted = column.to_lowercase();
        let likeness = |name: &str| strsim::jaro_winkler(&name.to_lowercase(), &wanted);
        let best = self.names.iter().max_by(|a, b| likeness(a).total_cmp(&likeness(b)))?;
        (likeness(best) > 0.7).then(|| best.clone())
    }
}
