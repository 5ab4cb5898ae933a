//! The review on a cluster: a job that an engine runs, and what its workers and its driver do.
//!
//! The engine moves chunks of bytes between tasks and knows nothing of them; every rule is in the parts below this one and
//! is run by workers, which are this program. A worker is a filter from stream to stream with a folder of its own that is
//! gone when it ends, so a task that is run twice, or is lost and run again, changes nothing.

mod folder;
mod job;
mod ranges;
mod settling;
mod share;
mod typing;

pub use folder::Folder;
pub use job::write_job;
pub use ranges::{bind, cut};
pub use settling::{Settling, ledger, settle};
pub use share::{Gathered, gather, join, share};
pub use typing::{Files, described, exports_among, type_exports};
