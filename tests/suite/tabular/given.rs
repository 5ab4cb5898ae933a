//! What a reader of rows gives out, as plain texts.

use motetrail::tabular::{RowFault, TableRows};

/// Every row: its line, its cells, its fault.
pub type Given = (u64, Vec<String>, Option<RowFault>);

/// Reads to the end.
pub fn given(rows: &mut dyn TableRows) -> std::io::Result<Vec<Given>> {
    let mut all = Vec::new();
    while let Some(row) = rows.next_row()? {
        let text = |cell: &motetrail::tabular::Cell| {
            String::from_utf8_lossy(&row.bytes[cell.start..cell.end]).into_owned()
        };
        all.push((row.line, row.cells.iter().map(text).collect(), row.fault));
    }
    Ok(all)
}

/// The cells of every row.
pub fn cells(rows: &mut dyn TableRows) -> Vec<Vec<String>> {
    given(rows).unwrap().into_iter().map(|(_, cells, _)| cells).collect()
}
