//! From the bytes of any table-like file to rows of text cells.
//!
//! Text is unpacked (`compression`, `zip_member`), decoded (`encoding`) and cut (`reader`, with `cut`
//! for the common dialect and `cut_any` for all others); workbooks, Parquet and JSON lines give their
//! own cells; all of them come out as [`TableRows`]. A row is right or faulty, and what is handed
//! out does not depend on how bytes arrive; memory is bounded by constants and by a [`Room`], never by
//! the file.
//!
//! Two parts look instead of read: [`detect`] finds how text is written, [`profile`] what columns
//! hold, with [`date`] for both and for intake. Every guess of theirs comes with its evidence; reading
//! itself never guesses.

mod cells;
mod compression;
mod cut;
mod cut_any;
pub mod date;
pub mod detect;
mod encoding;
mod format;
mod guarded;
mod json_lines;
mod json_object;
mod json_rows;
mod line_ends;
mod mend;
mod names;
mod other_kind;
mod page_header;
mod page_sizes;
mod parquet_rows;
mod parquet_text;
pub mod profile;
mod ratio;
mod reader;
mod room;
mod row_buffer;
mod table_error;
mod take;
mod value_text;
mod workbook;
mod zip_member;

pub use cells::{Cells, TextFault};
pub use compression::{Compression, unpack_zip};
pub use cut::Cell;
pub use encoding::decoded;
pub use format::Format;
pub use guarded::guarded;
pub use json_rows::JsonRows;
pub use names::{joined_names, numbered_names, plain_name, told_apart};
pub use other_kind::{FIRST_BYTES, check_known};
pub use parquet_rows::ParquetRows;
pub use reader::{LONGEST_ROW, Row, RowFault, Rows, TableRows, rows_of};
pub use room::Room;
pub use table_error::TableError;
pub use workbook::{SheetFact, Workbook, WorkbookFacts, WorkbookRows};
