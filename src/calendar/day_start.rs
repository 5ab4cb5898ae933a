//! Where a local day begins.

use chrono::{NaiveDate, NaiveTime, TimeDelta, TimeZone, Utc};
use chrono_tz::Tz;

/// First instant of a local day, microseconds UTC.
///
/// Where a clock change swallows midnight it is the first instant after the gap, to the quarter
/// of an hour; a day that a zone left out altogether begins, and ends, with the one after it.
pub fn day_start(day: NaiveDate, zone: Tz) -> i64 {
    let midnight = day.and_time(NaiveTime::MIN);
    let start = (0..=96).find_map(|quarters| {
        let local = midnight.checked_add_signed(TimeDelta::minutes(15 * quarters))?;
        zone.from_local_datetime(&local).earliest()
    });
    start.map_or_else(
        || Utc.from_utc_datetime(&midnight).timestamp_micros(),
        |at| at.timestamp_micros(),
    )
}
