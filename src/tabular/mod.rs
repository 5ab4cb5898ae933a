//! From the bytes of any table-like file to rows of text cells.
//!
//! What is packed is unpacked (`packed`); text is decoded and cut (`text`: `cut` for the common dialect,
//! `cut_any` for all others); workbooks, Parquet files (`parquet`) and JSON objects (`json`) give cells of
//! their own; all of them come out as [`TableRows`]. A row is right or faulty, and what is handed
//! out does not depend on how bytes arrive; memory is bounded by constants and by a [`Room`], never by
//! the file.
//!
//! Two parts look instead of read: [`detect`] finds how text is written, [`profile`] what columns
//! hold, with [`date`] for both and for intake. Every guess of theirs comes with its evidence; reading
//! itself never guesses.

mod cells;
pub mod date;
pub mod detect;
mod first_bytes;
mod format;
mod guarded;
mod json;
mod names;
mod other_kind;
mod packed;
mod parquet;
pub mod profile;
mod room;
mod row;
mod row_buffer;
mod table_error;
mod text;
mod value_text;
mod workbook;

pub use cells::{Cells, TextFault};
pub use first_bytes::FIRST_BYTES;
pub use format::Format;
pub use guarded::guarded;
pub use json::rows::JsonRows;
pub use names::{joined_names, numbered_names, plain_name, told_apart};
pub use other_kind::check_known;
pub use packed::compression::{Compression, unpack_zip};
pub use parquet::rows::ParquetRows;
pub use room::Room;
pub use row::{LONGEST_ROW, Row, RowFault, TableRows};
pub use table_error::TableError;
pub use text::encoding::decoded;
pub use text::marks::Cell;
pub use text::reader::{Rows, rows_of};
pub use workbook::{SheetFact, Workbook, WorkbookFacts, WorkbookRows};
