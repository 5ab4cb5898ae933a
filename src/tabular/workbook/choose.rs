//! Which sheet of a workbook is read: the one that is named, the one whose content fits, or the
//! largest.

use std::collections::BTreeSet;
use std::io;

use super::facts::SheetFact;
use crate::tabular::cells::Cells;
use crate::tabular::row::TableRows;
use crate::tabular::table_error::TableError;

/// Rows of a sheet that are searched for column names.
const SEARCHED: usize = 100;

/// A sheet and those that fit as well.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Choice {
    pub sheet: usize,
    pub also_fit: Vec<usize>,
}

/// How many of the names stand in one row of the sheet at a place.
pub type FoundIn<'a> = dyn FnMut(usize, &BTreeSet<&str>) -> Result<usize, TableError> + 'a;

/// Chooses a sheet: `named`; else the one with most of the column names `wanted` in one row, hidden
/// sheets only if no other has any; else the largest, hidden sheets only if there is no other. `found_in` says
/// how many of the names stand in one row of a sheet: see [`most_found`].
///
/// # Errors
/// When there is no such sheet, or none at all, or one cannot be read.
pub fn choose(
    sheets: &[SheetFact],
    named: Option<&str>,
    wanted: &[String],
    found_in: &mut FoundIn<'_>,
) -> Result<Choice, TableError> {
    if let Some(named) = named {
        let place = sheets.iter().position(|sheet| sheet.name == named);
        let sheet = place.ok_or_else(|| TableError::NoSheet {
            wanted: named.to_owned(),
            found: sheets.iter().map(|sheet| format!("{:?}", sheet.name)).collect(),
        })?;
        return Ok(Choice { sheet, also_fit: Vec::new() });
    }
    let wanted: BTreeSet<&str> = wanted.iter().map(|name| name.trim()).collect();
    let mut scores = Vec::new();
    for index in 0..sheets.len() {
        scores.push(match wanted.is_empty() {
            true => 0,
            false => found_in(index, &wanted)? as u64,
        });
    }
    let fitting = best(sheets, &scores);
    if !fitting.is_empty() {
        return Ok(of_equals(&fitting));
    }
    let areas: Vec<u64> =
        sheets.iter().map(|sheet| 1 + sheet.rows * sheet.columns as u64).collect();
    match best(sheets, &areas) {
        largest if largest.is_empty() => Err(TableError::NoWorkbook),
        largest => Ok(of_equals(&largest)),
    }
}

fn of_equals(sheets: &[usize]) -> Choice {
    Choice { sheet: sheets[0], also_fit: sheets[1..].to_vec() }
}

/// The sheets with the highest score above nought, hidden ones only if no other has one.
fn best(sheets: &[SheetFact], scores: &[u64]) -> Vec<usize> {
    for hidden in [false, true] {
        let group = || (0..sheets.len()).filter(|&at| sheets[at].hidden == hidden);
        let highest = group().map(|at| scores[at]).max().unwrap_or(0);
        if highest > 0 {
            return group().filter(|&at| scores[at] == highest).collect();
        }
    }
    Vec::new()
}

/// How many of the names stand in one row, at most.
pub fn most_found(rows: &mut dyn TableRows, wanted: &BTreeSet<&str>) -> io::Result<usize> {
    let mut most = 0;
    for _ in 0..SEARCHED {
        let Some(row) = rows.next_row()? else { break };
        if let Ok(cells) = Cells::of(&row) {
            let texts: BTreeSet<&str> = (0..cells.count()).map(|at| cells.get(at)).collect();
            most = most.max(wanted.intersection(&texts).count());
        }
    }
    Ok(most)
}
