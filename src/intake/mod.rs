//! From an export's bytes to typed Arrow batches, or to the quarantine.
//!
//! [`crate::tabular`] gives the rows; here they are mapped and typed (`map`, `row`), gathered (`columns`) and
//! known again (`identity`). A row becomes all of its records or is rejected once (`reject`), with its place and its
//! reason; rows read are always rows typed plus rows rejected. Memory is bounded whatever comes in, and the same bytes give the same
//! batches.
//!
//! Knows no store: it reads a stream and fills a [`Sink`]. The only files it opens are alias tables of names (`spelling`). It does not look for
//! repeated records; it only takes their fingerprints. Names of people leave it as pseudonyms or not at
//! all (`people`).

mod columns;
mod error;
mod export;
mod file;
mod identity;
mod map;
mod people;
mod range;
mod reading;
mod reject;
mod row;
mod side_by_side;
mod spelling;
mod stream;

pub use columns::batch::BATCH_ROWS;
pub use error::{IntakeError, SinkError};
pub use export::{Export, ReadCounts, Rejected, Sink};
pub use file::{Form, read_file};
pub use identity::anew::fingerprint_anew;
pub use map::currency::{Said, has_sign, said};
pub use map::duration::minutes;
pub use people::key::PeopleKey;
pub use people::names::{MASK, Met, Names, Pass, Suspects, read_knowing_names};
pub use range::{Cuts, Range, cuts, read_range};
pub use reject::losses::{LostCell, LostCells};
pub use side_by_side::ROOM_MIB;
pub use spelling::aliases::AliasAccount;
pub use spelling::rules::{AliasNames, Spelling, is_mark};
pub use spelling::sources::Spellings;
pub use stream::read_export;
