//! One row of the worklist in the making.

use chrono::DateTime;

use super::declared::{Own, When};
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

impl Item {
    /// Whether it is listed: nothing is advised that is worth less than its work.
    pub fn is_listed(&self) -> bool {
        self.saving.is_none_or(|saving| saving.value > 0.0)
    }
}

/// When a piece of work is to be done, and what it then saves and costs.
pub(in crate::measures) struct Due {
    pub when: When,
    /// Less the price of the work, and of going there where it is to be done now.
    pub saving: Option<Between>,
    /// Price of the work, with that of going there where it is to be done now.
    pub cost: f64,
}

impl Due {
    /// Now if the saving is more than going there for it alone would cost; never now where nobody knows that price.
    pub fn of(saving: Option<Between>, cost: f64, trip: Option<f64>) -> Due {
        let now = saving.zip(trip).map(|(saving, trip)| (saving.less(trip), trip));
        match now.filter(|(saving, _)| saving.value > 0.0) {
            Some((saving, trip)) => {
                Due { when: When::Now, saving: Some(saving), cost: cost + trip }
            }
            None => Due { when: When::ThereAnyhow, saving, cost },
        }
    }
}

/// The name of an end face as records have it, its key where no record tells it any more; none where it is not known.
pub(in crate::measures) fn face_name(evidence: &Evidence, key: Key) -> Option<String> {
    key.is_known().then(|| evidence.face_name(key))
}

/// An instant in the fleet's zone: "2026-05-11 09:30".
pub(in crate::measures) fn local(evidence: &Evidence, at: i64) -> Option<String> {
    let zone = evidence.derived.calendar.zone;
    let at = DateTime::from_timestamp_micros(at)?;
    Some(at.with_timezone(&zone).format("%Y-%m-%d %H:%M").to_string())
}
