//! Fingerprints of records whose cells were changed after they were typed: those that the same records
//! would have got had they come like that.

use arrow::array::{Array, AsArray, RecordBatch};
use arrow::datatypes::{Int32Type, Int64Type, TimestampMicrosecondType};
use xxhash_rust::xxh3::xxh3_64;

use super::fingerprint::content_of;
use crate::records::{IDENTITY_COLUMNS, Kind, Precision, Table, columns};

/// Identity and content of one record, as in [`IDENTITY_COLUMNS`].
pub type Fingerprint = ([u8; 16], u64);

/// Takes the fingerprints of record `row` of `edited` anew. `before` is the batch as it was typed: whether
/// the export gave the record's `seq`, which is part of its content only then, is nowhere written down,
/// but of both ways only one leads to the fingerprint that it had. None if neither does: then the batch
/// is not as it was typed.
///
/// Both batches have the whole schema of the table and the same records.
pub fn fingerprint_anew(
    table: Table,
    before: &RecordBatch,
    edited: &RecordBatch,
    row: usize,
) -> Option<Fingerprint> {
    let had = of_row(before, row)?;
    let way = [true, false]
        .into_iter()
        .find(|seq_given| content_of(table, values(table, before, row, *seq_given)).0 == had.1)?;
    let (content, beside) = content_of(table, values(table, edited, row, way));
    let by_content = u128::from(content) << 64 | u128::from(beside);
    let has_record = edited.column_by_name("record")?.is_valid(row);
    Some((if has_record { had.0 } else { by_content.to_be_bytes() }, content))
}

/// The fingerprint that a record has.
fn of_row(batch: &RecordBatch, row: usize) -> Option<Fingerprint> {
    let [identity, _, content] = IDENTITY_COLUMNS;
    let identity = batch.column_by_name(identity)?.as_fixed_size_binary().value(row);
    let content = batch.column_by_name(content)?.as_primitive::<arrow::datatypes::UInt64Type>();
    Some((identity.try_into().ok()?, content.value(row)))
}

/// What the record has in each column of its table, by place.
fn values(
    table: Table,
    batch: &RecordBatch,
    row: usize,
    seq_given: bool,
) -> impl Iterator<Item = (usize, u64)> {
    let known = columns(table).iter().enumerate();
    let known = known.filter(move |(_, column)| seq_given || column.name != "seq");
    known.filter_map(move |(place, column)| {
        let cells = batch.column_by_name(column.name)?;
        if cells.is_null(row) {
            return None;
        }
        let value = match column.kind {
            Kind::Text => xxh3_64(cells.as_string::<i32>().value(row).as_bytes()),
            Kind::Code | Kind::Person => xxh3_64(word(cells.as_ref(), row)?.as_bytes()),
            Kind::Integer | Kind::Minutes | Kind::Money => {
                cells.as_primitive::<Int64Type>().value(row) as u64
            }
            Kind::Flag => u64::from(cells.as_boolean().value(row)),
            Kind::Time => {
                let precision = batch.column_by_name(&format!("{}_precision", column.name))?;
                let precision = word(precision.as_ref(), row)?;
                let place = Precision::WORDS.iter().position(|word| *word == precision)?;
                let micros = cells.as_primitive::<TimestampMicrosecondType>().value(row);
                super::fingerprint::time_value(micros, place as i32)
            }
        };
        Some((place, value))
    })
}

/// The word of a dictionary column.
fn word(cells: &dyn Array, row: usize) -> Option<&str> {
    let cells = cells.as_dictionary_opt::<Int32Type>()?;
    let words = cells.values().as_string_opt::<i32>()?;
    Some(words.value(cells.key(row)?))
}
