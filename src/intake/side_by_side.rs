//! How much memory the reading of one export may take beside others, and who waits for whom.

use std::sync::{PoisonError, RwLock, RwLockReadGuard};

/// Held by all who read exports side by side; by one alone that needs the room of all of them.
pub(in crate::intake) static SIDE_BY_SIDE: RwLock<()> = RwLock::new(());

/// Takes part in reading side by side until it is dropped.
pub(in crate::intake) fn side_by_side() -> RwLockReadGuard<'static, ()> {
    // It guards nothing that a thread which panicked could have left half done.
    SIDE_BY_SIDE.read().unwrap_or_else(PoisonError::into_inner)
}

/// Memory that reading one export beside others may take, MiB: what is held of the file, intake's
/// buffers, the row groups in progress.
pub const ROOM_MIB: u32 = 96;
