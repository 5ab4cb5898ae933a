//! From an export's bytes to typed Arrow batches, or to the quarantine.
//!
//! Bytes are unpacked (`compression`), decoded (`encoding`), cut into rows and cells (`reader`,
//! `cut`), mapped and typed (`map`, `row`, `field`) and gathered (`batch`). A row becomes all of
//! its records or is rejected once, with its place and its reason; rows read are always rows typed
//! plus rows rejected. Memory is bounded whatever comes in, and the same bytes give the same
//! batches.
//!
//! Opens no file and knows no store: it reads a stream and fills a [`Sink`]. It does not look for
//! repeated records; it only takes their fingerprints.

mod batch;
mod calendar;
mod cells;
mod code;
mod column;
mod compile;
mod compression;
mod cut;
mod date;
mod dictionary;
mod encoding;
mod error;
mod export;
mod field;
mod header;
mod identity;
mod map;
mod number;
mod people;
mod raw;
mod reader;
mod reason;
mod row;
mod scan;
mod scope;
mod time;
mod when;
mod zone;

pub use batch::BATCH_ROWS;
pub use compression::Compression;
pub use cut::Cell;
pub use error::{IntakeError, SinkError};
pub use export::{Export, ReadCounts, Rejected, Sink, read_export};
pub use people::PeopleKey;
pub use reader::{LONGEST_ROW, Row, RowFault, Rows, rows_of};
