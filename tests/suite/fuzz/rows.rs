//! Cutting bytes into rows and cells.

use std::io::Read;
use std::path::Path;

use motetrail::settings::{Dialect, read_text};
use motetrail::tabular::{LONGEST_ROW, RowFault, TableRows, rows_of};

use super::{Draws, Pieces, fuzz, settings_with};

/// Lines of TOML, each a dialect.
const DIALECTS: [&str; 8] = [
    "",
    "separator = \";\"\ndecimal_mark = \",\"\nencoding = \"windows-1252\"",
    "separator = \"\\t\"\nquote = \"'\"",
    "separator = \"|\"\nskip_lines = 2",
    "separator = \" \"\nquote = \"\\\\\"",
    "escape = \"\\\\\"\nline_end = \"any\"",
    "separator = \"blanks\"\nquote = \"\"\nline_end = \"cr\"",
    "separator = \"||\"\nencoding = \"utf-16le\"",
];

/// A row as it was handed out: line, bytes, cells, fault.
type Seen = (u64, Vec<u8>, Vec<(usize, usize)>, Option<RowFault>);

/// All rows; none of what does not begin like text.
fn seen<'a>(dialect: &Dialect, stream: Box<dyn Read + 'a>) -> Vec<Seen> {
    let mut rows = match rows_of(dialect, stream) {
        Ok(rows) => rows,
        Err(error) => {
            assert!(error.to_string().contains("expected a table as text"), "{error}");
            return Vec::new();
        }
    };
    let mut seen = Vec::new();
    while let Some(row) = rows.next_row().unwrap() {
        let cells = row.cells.iter().map(|cell| (cell.start, cell.end)).collect();
        seen.push((row.line, row.bytes.to_vec(), cells, row.fault));
    }
    seen
}

#[test]
fn rows_of_any_bytes_lie_within_their_bytes_and_do_not_depend_on_how_these_arrive() {
    let dialects = DIALECTS.map(|dialect| {
        let plan = read_text(&settings_with(dialect), Path::new("."), "fleet.toml");
        plan.unwrap_or_else(|error| panic!("{error}")).sources[0].dialect.clone()
    });
    fuzz("rows", |input| {
        for dialect in &dialects {
            let rows = seen(dialect, Box::new(input));
            assert!(rows.is_sorted_by(|a, b| a.0 < b.0), "lines do not rise");
            for (_, bytes, cells, fault) in &rows {
                assert!(bytes.len() <= LONGEST_ROW + 1);
                let fits = |&(start, end): &(usize, usize)| start <= end && end <= bytes.len();
                assert!(fault.is_some() || (cells.iter().all(fits) && !cells.is_empty()));
            }
            let pieces = Pieces { bytes: input, draws: Draws::new(input.len() as u64) };
            assert_eq!(rows, seen(dialect, Box::new(pieces)));
        }
    });
}
