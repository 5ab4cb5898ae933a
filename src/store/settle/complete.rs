//! What a full re-export leaves out was deleted at its source.
//!
//! The settings may say that every export of a source holds all of a table's records of the days it
//! covers. Then a record of those days that still stands in an earlier export, once everything
//! repeated and corrected is settled, is not in the latest one: it is withdrawn.

use arrow::array::{Array, AsArray};
use arrow::datatypes::TimestampMicrosecondType;
use serde::{Deserialize, Serialize};

use super::fates::{Fate, Fates};
use super::judge::Candidate;
use crate::calendar::day_start;
use crate::records::{Table, schema};
use crate::settings::{Plan, Source};
use crate::store::StoreError;
use crate::store::read::{BATCH_ROWS, open_part};

/// The span of time of which every export holds all records.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::store) struct Complete {
    /// First instant, microseconds since 1970 UTC.
    pub from: i64,
    /// First instant after it.
    pub until: i64,
}

/// What the settings say of a table of a source; none where exports may hold parts of it.
pub(in crate::store) fn complete(plan: &Plan, source: &Source, table: Table) -> Option<Complete> {
    let cover = source.covers.get(&table).filter(|cover| cover.complete)?;
    let zone = plan.fleet.timezone;
    let after = cover.to.succ_opt().unwrap_or(cover.to);
    Some(Complete { from: day_start(cover.from, zone), until: day_start(after, zone) })
}

/// Withdraws what stands in any but the last of the parts, given from the earliest export to the
/// latest, and lies in the span. A register has no times: all of it is in any span.
pub(in crate::store) fn withdraw(
    table: Table,
    parts: &[Candidate],
    span: Complete,
    fates: &mut [Fates],
) -> Result<(), StoreError> {
    let earlier = parts.len().saturating_sub(1);
    let mut all = parts.iter().zip(fates).take(earlier);
    all.try_for_each(|(part, fates)| withdraw_of(table, part, span, fates))
}

/// The same for one part that is not the last.
pub(in crate::store) fn withdraw_of(
    table: Table,
    part: &Candidate,
    span: Complete,
    fates: &mut Fates,
) -> Result<(), StoreError> {
    let Some(time) = table.time_column() else {
        (0..part.records as usize).for_each(|record| fates.withdraw(record));
        return Ok(());
    };
    let mut record = 0;
    for batch in open_part(&part.path, &schema(table), &part.sums)?.batches(&[time], BATCH_ROWS)? {
        let batch = batch?;
        let times = batch.column(0).as_primitive::<TimestampMicrosecondType>();
        for row in 0..times.len() {
            let within = (span.from..span.until).contains(&times.value(row));
            if times.is_valid(row) && within {
                fates.withdraw(record);
            }
            record += 1;
        }
    }
    Ok(())
}

impl Fates {
    fn withdraw(&mut self, record: usize) {
        if self.get(record) == Fate::Stands {
            self.mark(record, Fate::Withdrawn);
        }
    }
}
