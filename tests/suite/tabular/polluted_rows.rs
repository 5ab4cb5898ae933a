//! Pollution of a single row: one variant for each row and column.

use super::polluted::Variant;
use super::polluted_source::{Format, Table, clean};

/// A way to pollute one cell of the clean table.
type Pollute = fn(&Table, usize, usize) -> Variant;

/// One way tried at every other cell, so that all columns and rows have their turn.
fn at_cells(pollute: Pollute, first: usize) -> Vec<Variant> {
    let table = clean();
    let cells = (0..table.len()).flat_map(|row| (first..9).map(move |cell| (row, cell)));
    let chosen = cells.filter(|(row, cell)| (row + cell) % 2 == first);
    chosen.map(|(row, cell)| pollute(&table, row, cell)).collect()
}

/// A separator is missing.
pub fn missing_separators() -> Vec<Variant> {
    at_cells(joined, 1)
}

/// There is a separator too much.
pub fn extra_separators() -> Vec<Variant> {
    at_cells(extra_separator, 0)
}

/// There is a quote too much.
pub fn extra_quotes() -> Vec<Variant> {
    at_cells(extra_quote, 0)
}

/// One row has another separator or line end than the others.
pub fn other_rows() -> Vec<Variant> {
    let table = clean();
    let mut variants = Vec::new();
    for row in 0..table.len() {
        for separator in [";", "\t", " ", ", "] {
            variants.extend(other_separator(&table, row, separator));
        }
        for line_end in ["\r", "\n"] {
            variants.push(other_line_end(&table, row, line_end));
        }
    }
    variants
}

/// The clean text with one row replaced.
fn with_row(table: &Table, row: usize, text: &str, line_end: &str) -> Vec<u8> {
    let format = Format::default();
    let lines = table.iter().enumerate().map(|(place, cells)| {
        if place == row { format!("{text}{line_end}") } else { format.row(cells) + format.line_end }
    });
    lines.collect::<String>().into_bytes()
}

fn variant(
    class: &'static str,
    row: usize,
    cell: usize,
    bytes: Vec<u8>,
    expected: Table,
) -> Variant {
    Variant { class, name: format!("row {row} cell {cell}"), bytes, expected }
}

/// The separator before a cell is missing.
fn joined(table: &Table, row: usize, cell: usize) -> Variant {
    let cells: Vec<String> = table[row].iter().map(|text| Format::default().cell(text)).collect();
    let text = format!("{}{}", cells[..cell].join(","), cells[cell..].join(","));
    let mut expected = table.clone();
    let right = expected[row].remove(cell);
    expected[row][cell - 1].push_str(&right);
    variant("separator missing", row, cell, with_row(table, row, &text, "\r\n"), expected)
}

/// Two separators stand before a cell.
fn extra_separator(table: &Table, row: usize, cell: usize) -> Variant {
    let mut expected = table.clone();
    expected[row].insert(cell, String::new());
    let text = Format::default().row(&expected[row]);
    variant("separator too much", row, cell, with_row(table, row, &text, "\r\n"), expected)
}

/// A quote too much at the beginning or the end of a cell.
fn extra_quote(table: &Table, row: usize, cell: usize) -> Variant {
    let mut cells: Vec<String> =
        table[row].iter().map(|text| Format::default().cell(text)).collect();
    let mut expected = table.clone();
    if row % 4 < 2 {
        cells[cell].insert(0, '"');
        expected[row][cell].insert(0, '"');
    } else {
        cells[cell].push('"');
        expected[row][cell].push('"');
    }
    variant("quote too much", row, cell, with_row(table, row, &cells.join(","), "\r\n"), expected)
}

/// The whole row has another separator. A row of two lines is left out: its second line could be
/// anything's.
fn other_separator(table: &Table, row: usize, separator: &'static str) -> Option<Variant> {
    if table[row].iter().any(|cell| cell.contains('\n')) {
        return None;
    }
    let text = Format { separator, ..Format::default() }.row(&table[row]);
    let bytes = with_row(table, row, &text, "\r\n");
    Some(variant("separator of one row", row, 0, bytes, table.clone()))
}

fn other_line_end(table: &Table, row: usize, line_end: &str) -> Variant {
    let text = Format::default().row(&table[row]);
    variant("line end of one row", row, 0, with_row(table, row, &text, line_end), table.clone())
}
