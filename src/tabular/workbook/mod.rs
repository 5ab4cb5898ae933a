//! Sheets of XLSX and ODS workbooks as rows of cell texts.
//!
//! Promises: every cell as the text that stands for its value, not for its looks: numbers in their
//! shortest form, dates and times by ISO 8601, formulas by the value they were saved with. Hidden
//! rows and sheets are read like others and counted, merged cells have their text in the first one.
//! Memory does not grow with the sheet; of XLSX the texts that its cells share are held, as far as
//! there is room for them. What the
//! workbook says about its own size is believed only after it was counted.
//!
//! XLSX goes through calamine, cell by cell. ODS does not: calamine holds all sheets of such a file
//! twice, with every repeated cell written out, and never returns from one that is cut off.
//! Formulas are never computed. Old XLS and XLSB are refused.

mod choose;
mod date_text;
mod facts;
mod number_format;
mod ods_cell;
mod ods_reader;
mod ods_rows;
mod ods_survey;
mod open;
mod xlsx_parts;
mod xlsx_rows;
mod xlsx_survey;
mod xlsx_weight;
mod xml;

pub use facts::{SheetFact, WorkbookFacts};
pub use open::{Workbook, WorkbookRows};
