//! One row of the worklist in the making.

use chrono::DateTime;

use super::declared::Own;
use super::risk::Between;
use crate::derive::Key;
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::results::Group;

/// One row in the making.
pub(in crate::measures) struct Item {
    /// Site, stage, family, coverage.
    pub group: Group,
    /// When it came to be so, microseconds UTC.
    pub since: Option<i64>,
    /// Minor units; none where these records cannot tell.
    pub saving: Option<Between>,
    /// Matings or trials that the saving rests on.
    pub n: f64,
    /// Faults or dirty results among them.
    pub events: i64,
    /// What a reader must know of the saving.
    pub flags: Vec<Flag>,
    /// All but its rank.
    pub own: Own,
}

/// The name of an end face as records have it; its key where no record tells it any more.
pub(in crate::measures) fn face_name(evidence: &Evidence, key: Key) -> Option<String> {
    match evidence.derived.face_names.get(&key) {
        Some(name) => Some(name.to_string()),
        None => key.is_known().then(|| format!("{:016x}", key.high)),
    }
}

/// An instant in the fleet's zone: "2026-05-11 09:30".
pub(in crate::measures) fn local(evidence: &Evidence, at: i64) -> Option<String> {
    let zone = evidence.derived.calendar.zone;
    let at = DateTime::from_timestamp_micros(at)?;
    Some(at.with_timezone(&zone).format("%Y-%m-%d %H:%M").to_string())
}
