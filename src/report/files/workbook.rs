//! All tables as one workbook, for those who read on in a spreadsheet: a sheet of contents with the headlines, a sheet a
//! table with the columns of the CSV that say anything, the dictionary. Words are written as words, so that none is taken
//! for a formula. Every sheet filters, keeps its heading in sight and prints on landscape pages.

use chrono::{Datelike, NaiveDate};
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, Worksheet, XlsxError};

use crate::measures::results::{Cells, Column};
use crate::measures::{Review, Unit};
use crate::report::error::ReportError;
use crate::report::words::headline::Headline;

/// Most characters of a cell: a limit of the format.
const LONGEST_CELL: usize = 32_767;
/// Most rows below the heading: a limit of the format.
const MOST_ROWS: usize = 1_048_575;
/// Narrowest and widest column, in characters.
const WIDTHS: (usize, usize) = (6, 60);
/// Name of the first sheet.
const CONTENTS: &str = "contents";
/// A4, by its number in the format.
const A4: u8 = 9;

/// A table as a sheet.
#[derive(Clone, Debug)]
pub(in crate::report) struct Sheet {
    pub name: &'static str,
    /// What the table says, a sentence.
    pub about: &'static str,
    pub columns: Vec<Column>,
}

/// The bytes of the workbook.
///
/// # Errors
/// The writer's own, which no table of ours should raise.
pub(in crate::report) fn workbook(
    review: &Review,
    headlines: &[Headline],
    sheets: &[Sheet],
) -> Result<Vec<u8>, ReportError> {
    write(review, headlines, sheets).map_err(|source| ReportError::Workbook { source })
}

fn write(review: &Review, headlines: &[Headline], sheets: &[Sheet]) -> Result<Vec<u8>, XlsxError> {
    let mut workbook = Workbook::new();
    // The time of writing would make every run's bytes different.
    let properties =
        DocProperties::new().set_creation_datetime(&ExcelDateTime::from_ymd(2000, 1, 1)?);
    workbook.set_properties(&properties);
    contents(workbook.add_worksheet().set_name(CONTENTS)?, review, headlines, sheets)?;
    for sheet in sheets {
        let written = workbook.add_worksheet().set_name(sheet.name)?;
        table(written, &sheet.columns)?;
        for_print(written, &format!("{}: {}", review.fleet, sheet.name))?;
    }
    workbook.save_to_buffer()
}

/// What the review is of, its headlines, and a link to every sheet.
fn contents(
    sheet: &mut Worksheet,
    review: &Review,
    headlines: &[Headline],
    sheets: &[Sheet],
) -> Result<(), XlsxError> {
    let bold = Format::new().set_bold();
    let wrap = Format::new().set_text_wrap();
    let title = format!("{}, connector review {}", review.fleet, review.period.quarter);
    sheet.write_string_with_format(0, 0, shortened(&title), &bold)?;
    sheet.write_string(1, 0, format!("Money is in {}.", review.currency))?;
    let mut row = 3;
    for headline in headlines {
        sheet.write_string(row, 0, headline.words)?;
        sheet.write_string_with_format(row, 1, shortened(&headline.sentence()), &wrap)?;
        row += 1;
    }
    row += 1;
    for (at, words) in (0..).zip(["sheet", "what it says", "rows"]) {
        sheet.write_string_with_format(row, at, words, &bold)?;
    }
    for listed in sheets {
        row += 1;
        let rows = listed.columns.first().map_or(0, |column| column.cells.len());
        let link = format!("internal:'{}'!A1", listed.name);
        sheet.write_url_with_text(row, 0, link.as_str(), listed.name)?;
        sheet.write_string_with_format(row, 1, listed.about, &wrap)?;
        sheet.write_number(row, 2, rows as f64)?;
    }
    sheet.set_column_width(0, 36)?;
    sheet.set_column_width(1, 90)?;
    for_print(sheet, &title)
}

/// The columns in which any row says anything; of a table without rows all of them.
fn table(sheet: &mut Worksheet, columns: &[Column]) -> Result<(), XlsxError> {
    let rows = columns.first().map_or(0, |column| column.cells.len()).min(MOST_ROWS);
    let units = units(columns);
    let says = |column: &&Column| rows == 0 || !is_silent(&column.cells);
    let shown: Vec<&Column> = columns.iter().filter(says).collect();
    let heading = Format::new().set_bold().set_text_wrap();
    for (place, column) in (0..).zip(&shown) {
        sheet.write_string_with_format(0, place, column.spec.name, &heading)?;
        let widest = write_cells(sheet, place, column, &units)?;
        let wide = widest.max(column.spec.name.len() + 3).clamp(WIDTHS.0, WIDTHS.1);
        sheet.set_column_width(place, wide as f64 + 1.0)?;
    }
    sheet.set_freeze_panes(1, 0)?;
    if let (Ok(last_row), Some(last)) = (u32::try_from(rows), shown.len().checked_sub(1)) {
        sheet.autofilter(0, 0, last_row, u16::try_from(last).unwrap_or(u16::MAX))?;
    }
    Ok(())
}

/// Landscape, as wide as a page, the heading on each.
fn for_print(sheet: &mut Worksheet, title: &str) -> Result<(), XlsxError> {
    sheet.set_landscape().set_paper_size(A4).set_print_fit_to_pages(1, 0);
    sheet.set_repeat_rows(0, 0)?;
    // `&` begins a code in a header; a header holds 255 characters.
    let title: String = title.replace('&', "&&").chars().take(200).collect();
    sheet.set_header(format!("&L{title}&R&P / &N"));
    Ok(())
}

/// The unit of each row, as its column `unit` says.
fn units(columns: &[Column]) -> Vec<Option<Unit>> {
    let column = columns.iter().find(|column| column.spec.name == "unit");
    let Some(Cells::Text(cells)) = column.map(|column| &column.cells) else { return Vec::new() };
    cells.iter().map(|cell| cell.as_deref().and_then(Unit::of)).collect()
}

fn is_silent(cells: &Cells) -> bool {
    match cells {
        Cells::Text(cells) => cells.iter().all(|cell| cell.as_deref().is_none_or(str::is_empty)),
        Cells::Integer(cells) => cells.iter().all(Option::is_none),
        Cells::Real(cells) => cells.iter().all(Option::is_none),
    }
}

/// The number format of a unit.
fn format_of(unit: Unit) -> &'static str {
    match unit {
        Unit::Share | Unit::Difference => "0.0%",
        Unit::Money => "#,##0.00",
        Unit::Count | Unit::Cycles => "#,##0",
        Unit::Probability => "0.0000",
        _ => "General",
    }
}

/// Writes a column; the characters of its widest cell, about.
fn write_cells(
    sheet: &mut Worksheet,
    place: u16,
    column: &Column,
    units: &[Option<Unit>],
) -> Result<usize, XlsxError> {
    let of_row = ["estimate", "low", "high"].contains(&column.spec.name);
    let mut widest = 0;
    match &column.cells {
        Cells::Text(cells) => {
            let dates = Format::new().set_num_format("yyyy-mm-dd");
            for (row, cell) in (1..).zip(cells.iter().take(MOST_ROWS)) {
                let Some(words) = cell else { continue };
                widest = widest.max(words.chars().count());
                match day(column.spec.unit, words) {
                    Some(day) => sheet.write_datetime_with_format(row, place, &day, &dates)?,
                    None => sheet.write_string(row, place, shortened(words))?,
                };
            }
        }
        Cells::Integer(cells) => {
            let format = Format::new().set_num_format(format_of(column.spec.unit));
            for (row, cell) in (1..).zip(cells.iter().take(MOST_ROWS)) {
                if let Some(value) = cell {
                    widest = widest.max(value.to_string().len() + 3);
                    sheet.write_number_with_format(row, place, *value as f64, &format)?;
                }
            }
        }
        Cells::Real(cells) => {
            for (at, (row, cell)) in (1..).zip(cells.iter().take(MOST_ROWS)).enumerate() {
                let Some(value) = cell else { continue };
                let unit = if of_row { units.get(at).copied().flatten() } else { None };
                let format =
                    Format::new().set_num_format(format_of(unit.unwrap_or(column.spec.unit)));
                widest = widest.max(format!("{value:.0}").len() + 5);
                sheet.write_number_with_format(row, place, *value, &format)?;
            }
        }
    }
    Ok(widest)
}

/// A day, where a column of times holds one.
fn day(unit: Unit, words: &str) -> Option<ExcelDateTime> {
    if unit != Unit::Time {
        return None;
    }
    let day: NaiveDate = words.parse().ok()?;
    let (month, of_month) = (u8::try_from(day.month()).ok()?, u8::try_from(day.day()).ok()?);
    ExcelDateTime::from_ymd(u16::try_from(day.year()).ok()?, month, of_month).ok()
}

fn shortened(words: &str) -> String {
    words.chars().take(LONGEST_CELL).collect()
}
