//! Walks an XLSX sheet once before its cells are read: what it holds, and whether it keeps to the
//! bounds that the library which reads it relies on.
//!
//! That library stops at an error value that it does not know (`#SPILL!`, `#ERROR!`), and can go on
//! behind it, but does not say where that was: the survey does.

use std::collections::VecDeque;
use std::io::Read;

use quick_xml::events::{BytesStart, Event};

use super::facts::{MOST_COLUMNS, MOST_ROWS, SheetFact};
use super::xml::{Xml, attribute, damaged, is_set};
use crate::tabular::table_error::TableError;

/// Error values that the library knows.
const KNOWN_ERRORS: [&str; 7] =
    ["#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!"];

/// Most error values of other kinds in all sheets.
const MOST_ODD: usize = 100_000;

/// Rows and columns, from 0, of cells with an error value that the library does not know; in the
/// order of the sheet.
pub type OddErrors = VecDeque<(u32, u32)>;

/// Where the walk is.
#[derive(Default)]
struct Walk {
    fact: SheetFact,
    row: u64,
    row_hidden: bool,
    row_has_value: bool,
    column: usize,
    /// Inside an element that holds a cell's value.
    in_value: bool,
    has_value: bool,
    has_formula: bool,
    is_error: bool,
    odd: OddErrors,
    /// Such values in the sheets before.
    odd_before: usize,
}

/// What the sheet in these bytes holds, and its odd error values; `odd_before` counts those of the
/// sheets before it.
///
/// # Errors
/// When it is damaged, or rows or cells are out of order or beyond the bounds of a sheet.
pub fn survey(
    name: &str,
    hidden: bool,
    bytes: impl Read,
    odd_before: usize,
) -> Result<(SheetFact, OddErrors), TableError> {
    let mut xml = Xml::of(bytes);
    let fact = SheetFact { name: name.to_owned(), hidden, ..SheetFact::default() };
    let mut walk = Walk { fact, odd_before, ..Walk::default() };
    loop {
        match xml.next()? {
            Event::Start(e) => walk.open(&e)?,
            Event::End(e) => walk.close(e.local_name().as_ref()),
            Event::Text(text) if walk.in_value => walk.text(&text)?,
            Event::CData(_) | Event::GeneralRef(_) => walk.has_value |= walk.in_value,
            Event::Eof => return Ok((walk.fact, walk.odd)),
            _ => {}
        }
    }
}

impl Walk {
    fn open(&mut self, e: &BytesStart) -> Result<(), TableError> {
        match e.local_name().as_ref() {
            "row" => {
                self.enter_row(attribute(e, "r")?.as_deref())?;
                self.row_hidden = is_set(e, "hidden")?;
                self.row_has_value = false;
            }
            "c" => {
                self.enter_cell(attribute(e, "r")?.as_deref())?;
                (self.has_value, self.has_formula) = (false, false);
                self.is_error = attribute(e, "t")?.as_deref() == Some("e");
            }
            "v" | "t" => self.in_value = true,
            "f" => self.has_formula = true,
            "mergeCell" => self.fact.merged += 1,
            _ => {}
        }
        Ok(())
    }

    fn text(&mut self, text: &str) -> Result<(), TableError> {
        if self.is_error && !self.has_value && !KNOWN_ERRORS.contains(&text) {
            // Both are bounded where they are read.
            self.odd.push_back((self.row as u32 - 1, self.column as u32 - 1));
        }
        self.has_value |= !text.is_empty();
        let odd = self.odd_before + self.odd.len();
        if odd > MOST_ODD {
            return Err(TableError::TooMany {
                what: "cells with an error of an unusual kind",
                found: odd as u64,
                most: MOST_ODD as u64,
                advice: "put the formulas right",
            });
        }
        Ok(())
    }

    fn close(&mut self, name: &str) {
        match name {
            "v" | "t" => self.in_value = false,
            "c" => {
                self.fact.formulas += u64::from(self.has_formula);
                self.fact.formulas_without_value += u64::from(self.has_formula && !self.has_value);
                if self.has_value {
                    self.row_has_value = true;
                    self.fact.reach(self.row, self.column);
                }
            }
            "row" => self.fact.hidden_rows += u64::from(self.row_hidden && self.row_has_value),
            _ => {}
        }
    }

    fn enter_row(&mut self, written: Option<&str>) -> Result<(), TableError> {
        let row = match written {
            Some(row) => row.parse().map_err(|_| damaged(&format!("found the row {row:?}")))?,
            None => self.row + 1,
        };
        if row <= self.row || row > MOST_ROWS {
            return Err(damaged(&format!("row {row} stands behind row {}", self.row)));
        }
        (self.row, self.column) = (row, 0);
        Ok(())
    }

    fn enter_cell(&mut self, written: Option<&str>) -> Result<(), TableError> {
        let (column, row) = match written {
            Some(place) => {
                cell_place(place).ok_or_else(|| damaged(&format!("found the cell {place:?}")))?
            }
            None => (self.column + 1, self.row),
        };
        if row != self.row || column <= self.column || column > MOST_COLUMNS {
            let last = self.column;
            return Err(damaged(&format!(
                "row {}: a cell of row {row}, column {column} stands behind column {last}",
                self.row
            )));
        }
        self.column = column;
        Ok(())
    }
}

/// Column and row of a name such as `AB12`, from 1.
fn cell_place(name: &str) -> Option<(usize, u64)> {
    let letters = name.bytes().take_while(u8::is_ascii_alphabetic).count();
    let (column, row) = name.split_at(letters);
    if !(1..=3).contains(&letters) || !row.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    let column = column
        .bytes()
        .fold(0, |sum, letter| sum * 26 + usize::from(letter.to_ascii_uppercase() - b'A') + 1);
    Some((column, row.parse().ok()?))
}
