//! The words in which a rejection says what was found, what was expected and what to do.

use crate::settings::Encoding;
use crate::tabular::{LONGEST_ROW, RowFault, TextFault};

/// Most characters of a cell that a message shows.
const SHOWN: usize = 80;

/// Why a row is rejected: the column at fault, where there is one, and the reason.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The export's column, or the canonical one where no export column fills it.
    pub column: Option<String>,
    pub reason: String,
}

/// A cell's text as a message shows it.
pub fn shown(text: &str) -> String {
    match text.char_indices().nth(SHOWN) {
        Some((cut, _)) => format!("{:?}...", &text[..cut]),
        None => format!("{text:?}"),
    }
}

/// Why a row could not be cut.
pub fn row_fault(fault: RowFault) -> String {
    match fault {
        RowFault::TooLong => format!(
            "found a row longer than {LONGEST_ROW} bytes, expected a shorter one; \
             look for a quote that is never closed"
        ),
        RowFault::OpenQuote => {
            "found a quote that is never closed, expected its end in the same cell; \
             close it or name another quote character in the source"
                .to_owned()
        }
        RowFault::TextAfterQuote => "found text after a closing quote, expected a separator; \
             double the quotes inside the cell"
            .to_owned(),
        RowFault::NoObject => {
            "found no JSON object, expected one a line; export the line again".to_owned()
        }
        RowFault::DoubleKey => {
            "found a JSON object with a key twice, expected each once; export the line again"
                .to_owned()
        }
        RowFault::TooDeep => {
            "found a JSON object nested too deep, expected at most 32 levels; flatten it".to_owned()
        }
    }
}

/// Why a row's bytes are no text.
pub fn text_fault(fault: TextFault, encoding: Encoding) -> String {
    match fault {
        TextFault::Byte(byte, cell) => format!(
            "found the byte 0x{byte:02X} in cell {}, expected {} text; \
             check the encoding of the source",
            cell + 1,
            encoding.name()
        ),
        TextFault::Nul(cell) => format!(
            "found a NUL byte in cell {}, expected text; export again as {}",
            cell + 1,
            encoding.name()
        ),
    }
}

/// The wrong number of cells.
pub fn cell_count(found: usize, expected: usize) -> String {
    let cells = if found == 1 { "cell" } else { "cells" };
    format!(
        "found {found} {cells}, expected {expected}; \
         check separator and quotes of this line"
    )
}
