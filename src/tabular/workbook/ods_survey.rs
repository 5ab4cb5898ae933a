//! Walks through an ODS file once: which sheets it has and what they hold.

use std::io::Read;

use super::facts::{MOST_COLUMNS, MOST_ROWS, MOST_SHEETS, SheetFact};
use super::ods_reader::{OdsReader, OdsRow};
use super::xml::damaged;
use crate::tabular::room::{LIST, Room};
use crate::tabular::table_error::TableError;

/// Most cells of a sheet, repeated ones written out: a few bytes may stand for a whole sheet of
/// them.
const MOST_CELLS: u64 = 200_000_000;

/// What each sheet holds, in the file's order.
///
/// # Errors
/// When the file is damaged, or a sheet has rows, columns or repeated cells beyond all bounds.
pub fn survey(content: impl Read, room: Room) -> Result<Vec<SheetFact>, TableError> {
    let mut reader = OdsReader::of(content);
    let mut sheets = Vec::new();
    let mut row = OdsRow::default();
    let mut names = 0;
    while let Some(table) = reader.next_table()? {
        names += table.name.len() as u64;
        room.check("names of sheets that take", names, LIST, "give them shorter ones")?;
        if sheets.len() == MOST_SHEETS {
            return Err(TableError::TooMany {
                what: "sheets in a workbook",
                found: sheets.len() as u64 + 1,
                most: MOST_SHEETS as u64,
                advice: "save the one with the table as a workbook of its own",
            });
        }
        let mut fact = SheetFact { name: table.name, hidden: table.hidden, ..SheetFact::default() };
        let (mut above, mut cells) = (0, 0);
        while reader.next_row(&mut row)? {
            let width = row.width();
            cells += width as u64 * row.repeat;
            if cells > MOST_CELLS {
                return Err(TableError::TooMany {
                    what: "cells in a sheet",
                    found: cells,
                    most: MOST_CELLS,
                    advice: "delete the rows and columns that are not part of the table",
                });
            }
            above += row.repeat;
            if width > 0 {
                note(&mut fact, &row, above, width)?;
            }
        }
        sheets.push(fact);
    }
    Ok(sheets)
}

/// Takes note of a row with a value whose last repetition is the sheet's row `last`.
fn note(fact: &mut SheetFact, row: &OdsRow, last: u64, width: usize) -> Result<(), TableError> {
    if last > MOST_ROWS || width > MOST_COLUMNS {
        return Err(damaged(&format!("found a value in row {last}, column {width}")));
    }
    fact.reach(last, width);
    fact.hidden_rows += if row.hidden { row.repeat } else { 0 };
    for cell in &row.cells {
        let count = cell.repeat as u64 * row.repeat;
        fact.formulas += if cell.formula { count } else { 0 };
        fact.formulas_without_value += if cell.formula && cell.text.is_empty() { count } else { 0 };
        fact.merged += u64::from(cell.merged);
    }
    Ok(())
}
