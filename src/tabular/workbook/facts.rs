//! What is known of a workbook before its rows are read.

/// Most rows of a sheet, in XLSX and ODS as office programs write them.
pub const MOST_ROWS: u64 = 1_048_576;

/// Most columns of a sheet.
pub const MOST_COLUMNS: usize = 16_384;

/// Most sheets of a workbook; office programs offer fewer.
pub const MOST_SHEETS: usize = 10_000;

/// A sheet of a workbook.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SheetFact {
    /// Its name.
    pub name: String,
    /// Number of the last row with a value.
    pub rows: u64,
    /// Number of the last column with a value.
    pub columns: usize,
    /// The sheet is not shown.
    pub hidden: bool,
    /// Rows with a value that are not shown: hidden by hand or by a filter.
    pub hidden_rows: u64,
    /// Cells with a formula.
    pub formulas: u64,
    /// Those of them that were saved without a value; read as empty.
    pub formulas_without_value: u64,
    /// Ranges of merged cells.
    pub merged: u64,
}

impl SheetFact {
    /// Takes note of a cell with a value; row and column from 1.
    pub fn reach(&mut self, row: u64, column: usize) {
        self.rows = self.rows.max(row);
        self.columns = self.columns.max(column);
    }
}

/// What is known of a workbook.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WorkbookFacts {
    /// All sheets of cells, in the workbook's order.
    pub sheets: Vec<SheetFact>,
    /// Which of them is read.
    pub chosen: usize,
    /// Others whose content fits as well: a doubt.
    pub also_fit: Vec<usize>,
    /// Serial dates count from 1904-01-01.
    pub dates_from_1904: bool,
}
