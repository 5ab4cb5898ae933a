//! The store: a folder of Parquet parts with a manifest, and the rules of which record stands.
//!
//! Promises: every row of every export is accounted for; the same export again adds nothing; a later
//! export of a source supersedes an earlier one (R1); a run stopped anywhere leaves the store as it
//! was; the same exports give the same bytes, in whatever order and by however many threads they were
//! taken (but for the key of the pseudonyms and the days of intake); memory does not grow with
//! the number of records except for two bits each while a table is settled.
//!
//! Stops at records as they were exported: joins, visits and whatever else is made of them is not here.
//! An export that is no longer on disk stays in the store.

mod disk;
mod error;
mod handle;
mod manifest;
mod open;
mod progress;
mod read;
mod rewrite;
mod settle;
mod take;
mod verify;

pub use crate::intake::{LostCell, LostCells};
pub use disk::clock::{day_of, today};
pub use disk::spill::{Buckets, Spill, Spool};
pub use error::StoreError;
pub use handle::{Bound, ExportFile, PartInfo, Ranged, SharedClaim, Store, Taken, Verdict};
pub use manifest::account::{FileAccount, TableRecords};
pub use manifest::expired::Expired;
pub use manifest::form::{Example, Reason};
pub use manifest::layout::KEPT_FOLDERS;
pub use manifest::row_account::RowAccount;
pub use open::rebuild::{Rebuilt, SetAside};
pub use progress::Progress;
pub use rewrite::forget::Forgotten;
pub use take::matched::Unmatched;
pub use take::quarantine::Quarantined;
pub use take::ranges::{RangeFiles, TypedRange};
pub use take::unread::Unread;
pub use verify::Damage;
