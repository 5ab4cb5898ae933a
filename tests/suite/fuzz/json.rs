//! JSON objects, a line each or in one array.

use std::io::{Cursor, Read};

use motetrail::tabular::{Cells, JsonRows, LONGEST_ROW, Room, TableRows};

use super::{Draws, Pieces, fuzz};

/// What was read: line, cells as texts where they are text, whether the row is faulty; or the error.
type Seen = Result<Vec<(u64, Option<Vec<String>>, bool)>, String>;

fn seen(open: &dyn Fn() -> Box<dyn Read>) -> Seen {
    let mut rows =
        JsonRows::open(&|| Ok(open()), Room::default()).map_err(|error| error.to_string())?;
    let mut seen = Vec::new();
    while let Some(row) = rows.next_row().map_err(|error| error.to_string())? {
        assert!(row.bytes.len() <= LONGEST_ROW);
        let texts = |cells: Cells| (0..cells.count()).map(|at| cells.get(at).to_owned()).collect();
        seen.push((row.line, Cells::of(&row).ok().map(texts), row.fault.is_some()));
    }
    Ok(seen)
}

/// Bytes that are owned and arrive in pieces of drawn length.
struct Owned {
    bytes: Vec<u8>,
    at: usize,
    draws: Draws,
}

impl Read for Owned {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        let draws = Draws::new(self.draws.below(1 << 30) as u64);
        let n = Pieces { bytes: &self.bytes[self.at..], draws }.read(into)?;
        self.at += n;
        Ok(n)
    }
}

#[test]
fn rows_of_any_objects_are_as_wide_as_the_names_and_do_not_depend_on_how_bytes_arrive() {
    fuzz("json", |input| {
        let bytes = input.to_vec();
        let whole = seen(&|| Box::new(Cursor::new(bytes.clone())));
        let pieces = seen(&|| {
            let draws = Draws::new(bytes.len() as u64);
            Box::new(Owned { bytes: bytes.clone(), at: 0, draws })
        });
        assert_eq!(whole, pieces);
        let Ok(rows) = whole else { return };
        assert!(rows.is_sorted_by(|a, b| a.0 <= b.0), "lines fall");
        let width = rows[0].1.as_ref().map_or(0, Vec::len);
        for (_, cells, faulty) in &rows[1..] {
            assert!(*faulty || cells.as_ref().is_none_or(|cells| cells.len() == width));
        }
    });
}
