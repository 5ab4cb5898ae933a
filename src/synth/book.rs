//! An export as a workbook, the way a depot's spreadsheet is kept: a title over the whole width,
//! dates and times as numbers with a format, everything else as typed.

use chrono::{NaiveDate, NaiveTime, Timelike};
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, Worksheet, XlsxError};

use super::shape::sheet_plan::Field;
use super::shape::sheet_plan::{Shape, Sheet};

/// The lines of an export, title and heading above its rows, as the bytes of a workbook.
///
/// # Errors
/// The writer's own: more rows or longer cells than a sheet holds.
pub fn book(shape: &Shape, sheet: &Sheet, lines: &str) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    // The time of writing would make every run's bytes different.
    let properties =
        DocProperties::new().set_creation_datetime(&ExcelDateTime::from_ymd(2000, 1, 1)?);
    book.set_properties(&properties);
    let bold = Format::new().set_bold();
    let page = book.add_worksheet().set_name(sheet.name)?;
    let last = u16::try_from(sheet.columns.len() - 1).unwrap_or(u16::MAX);
    page.merge_range(0, 0, 0, last, shape.preface.trim_end(), &bold)?;
    let skipped = shape.preface.lines().count();
    for (row, line) in (1..).zip(lines.lines().skip(skipped)) {
        for (column, text) in (0..).zip(cells(line, char::from(shape.separator))) {
            let field = sheet.columns.get(usize::from(column)).map(|(_, field)| *field);
            if !text.is_empty() {
                write(page, row, column, &text, field.filter(|_| row > 1))?;
            }
        }
    }
    book.save_to_buffer()
}

/// Writes a cell: by its field's pattern as a date or a time of day, if it is one.
fn write(
    page: &mut Worksheet,
    row: u32,
    column: u16,
    text: &str,
    field: Option<Field>,
) -> Result<(), XlsxError> {
    if let Some(Field::At(pattern) | Field::Until(pattern)) = field {
        if let Ok(day) = NaiveDate::parse_from_str(text, pattern) {
            let since = day.signed_duration_since(EPOCH).num_days() as f64;
            let format = Format::new().set_num_format("dd-mm-yy");
            page.write_number_with_format(row, column, since, &format)?;
            return Ok(());
        }
        if let Ok(time) = NaiveTime::parse_from_str(text, pattern) {
            let part = f64::from(time.num_seconds_from_midnight()) / 86_400.0;
            let format = Format::new().set_num_format("hh:mm");
            page.write_number_with_format(row, column, part, &format)?;
            return Ok(());
        }
    }
    page.write_string(row, column, text)?;
    Ok(())
}

/// The day before the first of the calendar that workbooks count days by; it has a 29 February 1900
/// that never was, so this holds from March 1900 on (ECMA-376, part 1, 18.17.4.1).
const EPOCH: NaiveDate = match NaiveDate::from_ymd_opt(1899, 12, 30) {
    Some(day) => day,
    None => NaiveDate::MIN,
};

/// The cells of a line of ours: quoted where the separator or a quote is in them.
fn cells(line: &str, separator: char) -> Vec<String> {
    let (mut cells, mut cell, mut quoted) = (Vec::new(), String::new(), false);
    let mut letters = line.chars().peekable();
    while let Some(letter) = letters.next() {
        match letter {
            '"' if quoted && letters.peek() == Some(&'"') => {
                letters.next();
                cell.push('"');
            }
            '"' => quoted = !quoted,
            _ if letter == separator && !quoted => cells.push(std::mem::take(&mut cell)),
            _ => cell.push(letter),
        }
    }
    cells.push(cell);
    cells
}
