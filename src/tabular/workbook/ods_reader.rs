//! Tables and rows of an ODS file, in one walk through it.

use std::collections::BTreeSet;
use std::io::Read;

use quick_xml::events::{BytesStart, Event};

use super::facts::{MOST_COLUMNS, MOST_ROWS, MOST_SHEETS};
use super::ods_cell::{OdsCell, head, is_cell, read_cell};
use super::xml::{Xml, attribute, damaged};
use crate::tabular::row::LONGEST_ROW;
use crate::tabular::table_error::TableError;

/// Elements that only group rows.
const GROUPS: [&str; 3] = ["table:table-header-rows", "table:table-rows", "table:table-row-group"];

/// A sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OdsTable {
    pub name: String,
    pub hidden: bool,
}

/// A row, or several alike one below the other.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct OdsRow {
    /// How many there are, at most [`MOST_ROWS`].
    pub repeat: u64,
    pub hidden: bool,
    pub cells: Vec<OdsCell>,
}

impl OdsRow {
    /// Columns up to the last one with text.
    pub fn width(&self) -> usize {
        let last = self.cells.iter().rposition(|cell| !cell.text.is_empty());
        let cells = last.map_or(&[][..], |last| &self.cells[..=last]);
        cells.iter().fold(0, |sum: usize, cell| sum.saturating_add(cell.repeat))
    }
}

/// Walks through the content of an ODS file.
pub struct OdsReader<R> {
    xml: Xml<R>,
    /// Styles of tables that are not shown.
    hidden: BTreeSet<String>,
    in_table: bool,
}

impl<R: Read> OdsReader<R> {
    /// `content` is the file `content.xml`.
    pub fn of(content: R) -> Self {
        Self { xml: Xml::of(content), hidden: BTreeSet::new(), in_table: false }
    }

    /// The next sheet. Leaves out what is not read of the one before.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn next_table(&mut self) -> Result<Option<OdsTable>, TableError> {
        let mut rest = OdsRow::default();
        while self.in_table && self.next_row(&mut rest)? {}
        // Between two tables the walk is inside the spreadsheet.
        let (mut in_spreadsheet, mut style) = (self.xml.depth() > 0, String::new());
        loop {
            match self.xml.next()? {
                Event::Start(e) => match e.name().as_ref() {
                    "office:spreadsheet" => in_spreadsheet = true,
                    "style:style" => style = attribute(&e, "style:name")?.unwrap_or_default(),
                    "style:table-properties"
                        if attribute(&e, "table:display")?.as_deref() == Some("false") =>
                    {
                        let known: usize = self.hidden.iter().map(String::len).sum();
                        if self.hidden.len() == MOST_SHEETS || known > LONGEST_ROW {
                            return Err(damaged("it has more styles of hidden sheets than sheets"));
                        }
                        self.hidden.insert(style.clone());
                    }
                    "table:table" if in_spreadsheet => {
                        let table = table(&e, &self.hidden)?;
                        self.in_table = true;
                        return Ok(Some(table));
                    }
                    // Deleted cells and copies of other workbooks are no sheets.
                    "table:tracked-changes" | "table:dde-links" => self.xml.skip()?,
                    _ => {}
                },
                Event::Eof => return Ok(None),
                _ => {}
            }
        }
    }

    /// Reads the next row of the sheet into `row`; false at its end.
    ///
    /// # Errors
    /// When the file is damaged.
    pub fn next_row(&mut self, row: &mut OdsRow) -> Result<bool, TableError> {
        loop {
            match self.xml.next()? {
                Event::Start(e) => match e.name().as_ref() {
                    "table:table-row" => {
                        open_row(&e, row)?;
                        self.read_cells(&mut row.cells)?;
                        return Ok(true);
                    }
                    name if GROUPS.contains(&name) => {}
                    _ => self.xml.skip()?,
                },
                Event::End(e) if e.name().as_ref() == "table:table" => {
                    self.in_table = false;
                    return Ok(false);
                }
                Event::Eof => return Err(damaged("a sheet has no end")),
                _ => {}
            }
        }
    }

    fn read_cells(&mut self, cells: &mut Vec<OdsCell>) -> Result<(), TableError> {
        let mut room = LONGEST_ROW + 1;
        loop {
            match self.xml.next()? {
                Event::Start(e) if is_cell(e.name().as_ref()) => {
                    let head = head(&e)?;
                    cells.push(read_cell(head, &mut self.xml, &mut room)?);
                    if cells.len() > MOST_COLUMNS {
                        return Err(damaged("a row has more cells than a sheet has columns"));
                    }
                }
                Event::Start(_) => self.xml.skip()?,
                Event::End(e) if e.name().as_ref() == "table:table-row" => return Ok(()),
                _ => {}
            }
        }
    }
}

/// Name of a sheet and whether its style is one of those not shown.
fn table(e: &BytesStart, hidden: &BTreeSet<String>) -> Result<OdsTable, TableError> {
    let style = attribute(e, "table:style-name")?;
    Ok(OdsTable {
        name: attribute(e, "table:name")?.unwrap_or_default(),
        hidden: style.is_some_and(|style| hidden.contains(&style)),
    })
}

/// Begins a row with what its attributes say.
fn open_row(e: &BytesStart, row: &mut OdsRow) -> Result<(), TableError> {
    let repeat = attribute(e, "table:number-rows-repeated")?;
    let repeat = repeat.and_then(|repeat| repeat.parse().ok()).unwrap_or(1);
    row.repeat = u64::clamp(repeat, 1, MOST_ROWS);
    let visibility = attribute(e, "table:visibility")?;
    row.hidden = matches!(visibility.as_deref(), Some("collapse" | "filter"));
    row.cells.clear();
    Ok(())
}
