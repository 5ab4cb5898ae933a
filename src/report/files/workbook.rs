//! All tables as one workbook, a sheet a table, for those who read on in a spreadsheet: the same
//! columns as the CSV. Words are written as words, so that none is taken for a formula.

use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, Worksheet, XlsxError};

use crate::measures::results::{Cells, Column};
use crate::report::error::ReportError;

/// Most characters of a cell: a limit of the format.
const LONGEST_CELL: usize = 32_767;
/// Most rows below the heading: a limit of the format.
const MOST_ROWS: usize = 1_048_575;

/// Every table, by its name, as the bytes of one workbook.
///
/// # Errors
/// The writer's own, which no table of ours should raise.
pub(in crate::report) fn workbook(
    tables: &[(&'static str, Vec<Column>)],
) -> Result<Vec<u8>, ReportError> {
    write(tables).map_err(|source| ReportError::Workbook { source })
}

fn write(tables: &[(&'static str, Vec<Column>)]) -> Result<Vec<u8>, XlsxError> {
    let mut workbook = Workbook::new();
    // The time of writing would make every run's bytes different.
    let properties =
        DocProperties::new().set_creation_datetime(&ExcelDateTime::from_ymd(2000, 1, 1)?);
    workbook.set_properties(&properties);
    for (name, columns) in tables {
        let sheet = workbook.add_worksheet().set_name(*name)?;
        let heading = Format::new().set_bold();
        for (place, column) in (0..).zip(columns) {
            sheet.write_string_with_format(0, place, column.spec.name, &heading)?;
            write_cells(sheet, place, &column.cells)?;
        }
        sheet.set_freeze_panes(1, 0)?;
    }
    workbook.save_to_buffer()
}

fn write_cells(sheet: &mut Worksheet, place: u16, cells: &Cells) -> Result<(), XlsxError> {
    match cells {
        Cells::Text(cells) => {
            for (row, cell) in (1..).zip(cells.iter().take(MOST_ROWS)) {
                if let Some(words) = cell {
                    let words: String = words.chars().take(LONGEST_CELL).collect();
                    sheet.write_string(row, place, words)?;
                }
            }
        }
        Cells::Integer(cells) => {
            for (row, cell) in (1..).zip(cells.iter().take(MOST_ROWS)) {
                if let Some(value) = cell {
                    sheet.write_number(row, place, *value as f64)?;
                }
            }
        }
        Cells::Real(cells) => {
            for (row, cell) in (1..).zip(cells.iter().take(MOST_ROWS)) {
                if let Some(value) = cell {
                    sheet.write_number(row, place, *value)?;
                }
            }
        }
    }
    Ok(())
}
