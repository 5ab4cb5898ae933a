//! Records older than the settings keep are dropped.

use arrow::array::{Array, AsArray, BooleanArray, RecordBatch};
use arrow::compute::filter_record_batch;
use arrow::datatypes::TimestampMicrosecondType;
use chrono::{Months, NaiveDate};
use serde::{Deserialize, Serialize};

use crate::records::{Table, day_start};
use crate::settings::Plan;

use super::parts::Edit;
use crate::store::manifest::written;

/// Records of one table of one export that were dropped for their age.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Expired {
    /// What they were.
    #[serde(with = "written::table")]
    pub table: Table,
    /// How many.
    pub records: u64,
}

/// Drops what is older than an instant.
pub(in crate::store) struct Expire {
    /// Microseconds since 1970 UTC: the first instant that is kept.
    from: i64,
}

impl Expire {
    /// What the settings say, counted back from their `as_of`, else from `today`; none if all is kept.
    pub fn of(plan: &Plan, today: NaiveDate) -> Option<Self> {
        let years = plan.rules.keep_years?;
        let day = plan.fleet.as_of.unwrap_or(today);
        let first = day.checked_sub_months(Months::new(12 * years))?;
        Some(Self { from: day_start(first, plan.fleet.timezone) })
    }

    /// Whether each record is kept; one without a time is.
    fn kept(&self, table: Table, batch: &RecordBatch) -> Option<BooleanArray> {
        let times = batch.column_by_name(table.time_column()?)?;
        let times = times.as_primitive_opt::<TimestampMicrosecondType>()?;
        let kept = |row: usize| times.is_null(row) || times.value(row) >= self.from;
        Some(BooleanArray::from_iter((0..times.len()).map(|row| Some(kept(row)))))
    }
}

impl Edit for Expire {
    fn looks_at(&self, table: Table) -> Option<Vec<&'static str>> {
        table.time_column().map(|time| vec![time])
    }

    fn touches(&self, table: Table, batch: &RecordBatch) -> bool {
        self.kept(table, batch).is_some_and(|kept| kept.false_count() > 0)
    }

    fn batch(&mut self, table: Table, batch: RecordBatch) -> Result<RecordBatch, String> {
        match self.kept(table, &batch) {
            Some(kept) => filter_record_batch(&batch, &kept).map_err(|error| error.to_string()),
            None => Ok(batch),
        }
    }

    fn text(&self, _: &str) -> Option<String> {
        None
    }
}

/// Adds records of a table that were dropped for their age.
pub(in crate::store) fn note_expired(expired: &mut Vec<Expired>, table: Table, records: u64) {
    if records == 0 {
        return;
    }
    match expired.iter_mut().find(|known| known.table == table) {
        Some(known) => known.records += records,
        None => {
            expired.push(Expired { table, records });
            expired.sort_by_key(|known| known.table);
        }
    }
}
