//! From an export's bytes to typed Arrow batches, or to the quarantine.
//!
//! [`crate::tabular`] gives the rows; here they are mapped and typed (`map`, `row`, `field`) and
//! gathered (`batch`). A row becomes all of its records or is rejected once, with its place and its reason; rows read are always rows typed
//! plus rows rejected. Memory is bounded whatever comes in, and the same bytes give the same
//! batches.
//!
//! Opens no file and knows no store: it reads a stream and fills a [`Sink`]. It does not look for
//! repeated records; it only takes their fingerprints. Names of people leave it as pseudonyms or not at
//! all (`people`, `names`, `raw`).

mod anew;
mod batch;
mod code;
mod column;
mod compile;
mod date;
mod dictionary;
mod error;
mod export;
mod field;
mod file;
mod first;
mod header;
mod identity;
mod map;
mod names;
mod number;
mod people;
mod raw;
mod reason;
mod row;
mod scope;
mod short_words;
mod time;
mod when;
mod zone;

pub use anew::fingerprint_anew;
pub use batch::BATCH_ROWS;
pub use error::{IntakeError, SinkError};
pub use export::{Export, ReadCounts, Rejected, Sink, read_export};
pub use file::{Form, ROOM_MIB, read_file};
pub use names::{MASK, Names, Pass, Suspects, read_knowing_names};
pub use people::PeopleKey;
