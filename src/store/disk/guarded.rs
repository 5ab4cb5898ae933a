//! A panic of the Parquet library's as an error of the store.

use std::path::Path;

use crate::store::StoreError;
use crate::tabular;

/// Runs a piece of the Parquet library on bytes from disk.
pub(in crate::store) fn guarded<T, E: ToString>(
    path: &Path,
    work: impl FnOnce() -> Result<T, E>,
) -> Result<T, StoreError> {
    match tabular::guarded(work) {
        Ok(done) => done.map_err(|error| StoreError::damaged(path, error)),
        Err(_) => Err(StoreError::damaged(path, "its pages contradict each other")),
    }
}
