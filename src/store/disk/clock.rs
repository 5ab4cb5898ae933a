//! What the machine's clock says, as a value or an error: never a panic, whatever it is set to.

use std::time::{SystemTime, UNIX_EPOCH};

use chrono::{DateTime, NaiveDate, Utc};

use crate::store::StoreError;

/// This moment (UTC).
pub(in crate::store) fn now() -> Result<DateTime<Utc>, StoreError> {
    at(SystemTime::now())
}

/// Today (UTC) by the machine's clock, as [`crate::store::Store::take`] wants it.
///
/// # Errors
/// A clock that stands before 1970 or beyond what a calendar holds.
pub fn today() -> Result<NaiveDate, StoreError> {
    day_of(SystemTime::now())
}

/// The day (UTC) of a clock's reading.
///
/// # Errors
/// As [`today`].
pub fn day_of(clock: SystemTime) -> Result<NaiveDate, StoreError> {
    at(clock).map(|moment| moment.date_naive())
}

fn at(clock: SystemTime) -> Result<DateTime<Utc>, StoreError> {
    let since = clock.duration_since(UNIX_EPOCH).map_err(|before| StoreError::Clock {
        found: format!("{} s before 1970", before.duration().as_secs()),
    })?;
    let seconds = i64::try_from(since.as_secs()).ok();
    seconds
        .and_then(|seconds| DateTime::from_timestamp(seconds, 0))
        .ok_or_else(|| StoreError::Clock { found: format!("{} s after 1970", since.as_secs()) })
}
