//! Rows that could not be typed: written next to the parts, read back as examples.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use arrow::array::{Array, ArrayRef, AsArray, RecordBatch, StringBuilder, UInt64Builder};
use arrow::datatypes::UInt64Type;

use crate::intake::Rejected;
use crate::records::quarantine_schema;
use crate::store::StoreError;
use crate::store::disk::checked::Sums;
use crate::store::disk::durable::hash_file;
use crate::store::disk::part::{Finished, PartWriter};
use crate::store::manifest::form::{Example, Reason};
use crate::store::read::{PartReader, open_part};

/// Rows kept in memory before they are written; each is a few hundred bytes at most.
const BATCH: usize = 4096;

/// Place of the line in the schema; all other columns are texts.
const LINE: usize = 2;

/// Rows that stand for all those with the same fault.
const EXAMPLES: usize = 3;

/// Quarantined rows of one export by place of the fault: table and column.
#[derive(Default)]
pub(in crate::store) struct Reasons(BTreeMap<(String, String), (u64, Vec<Example>)>);

impl Reasons {
    /// Adds a row, given in the order of the file.
    pub fn add(&mut self, table: &str, column: String, example: impl FnOnce() -> Example) {
        let (rows, examples) = self.0.entry((table.to_string(), column)).or_default();
        *rows += 1;
        if examples.len() < EXAMPLES {
            examples.push(example());
        }
    }

    /// As the manifest has them, ordered.
    pub fn finish(self) -> Vec<Reason> {
        let reason = |((table, column), (rows, examples))| Reason { table, column, rows, examples };
        self.0.into_iter().map(reason).collect()
    }
}

/// The reasons of a whole quarantine file, counted again.
pub(in crate::store) fn reasons_of(path: &Path, hash: &str) -> Result<Vec<Reason>, StoreError> {
    let mut reasons = Reasons::default();
    for row in all_rows(path, hash)? {
        let Quarantined { line, table, column, reason, raw, .. } = row?;
        reasons.add(&table, column.unwrap_or_default(), || Example { line, reason, raw });
    }
    Ok(reasons.finish())
}

/// All rows of a quarantine file with this hash.
pub(in crate::store) fn all_rows(
    path: &Path,
    hash: &str,
) -> Result<impl Iterator<Item = Result<Quarantined, StoreError>> + use<>, StoreError> {
    let batches = open_whole(path, hash)?.batches(&[], BATCH)?;
    Ok(batches.flat_map(|batch| match batch {
        Ok(batch) => rows_of(&batch).into_iter().map(Ok).collect::<Vec<_>>(),
        Err(error) => vec![Err(error)],
    }))
}

/// A quarantined row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Quarantined {
    /// Name of the source.
    pub source: String,
    /// Path relative to the settings' folder.
    pub file: String,
    /// Line where the row begins, from 1.
    pub line: u64,
    /// Table that the row should have become; empty where no record part applied.
    pub table: String,
    /// Column at fault; none where the row as a whole was.
    pub column: Option<String>,
    /// Found, expected, what to do.
    pub reason: String,
    /// The row's text, people masked.
    pub raw: String,
}

/// Writes the quarantine of one export.
pub(in crate::store) struct QuarantineWriter {
    writer: PartWriter,
    source: String,
    file: String,
    held: Vec<Rejected>,
}

impl QuarantineWriter {
    pub fn start(path: &Path, source: &str, file: &str) -> Result<Self, StoreError> {
        let writer = PartWriter::plain(path, quarantine_schema())?;
        Ok(Self { writer, source: source.into(), file: file.into(), held: Vec::new() })
    }

    pub fn push(&mut self, rejected: Rejected) -> Result<(), StoreError> {
        self.held.push(rejected);
        if self.held.len() >= BATCH { self.write() } else { Ok(()) }
    }

    fn write(&mut self) -> Result<(), StoreError> {
        let batch = self.batch();
        self.writer.push(&batch)?;
        // Raw text is the largest thing in the store for its rows, and a bad file is bad throughout.
        if self.writer.memory() > MEMORY_OF_QUARANTINE { self.writer.flush() } else { Ok(()) }
    }

    /// The held rows as a batch; none are held afterwards.
    fn batch(&mut self) -> RecordBatch {
        let mut lines = UInt64Builder::new();
        let mut texts: [StringBuilder; 6] = std::array::from_fn(|_| StringBuilder::new());
        let [source, file, table, column, reason, raw] = &mut texts;
        for rejected in self.held.drain(..) {
            source.append_value(&self.source);
            file.append_value(&self.file);
            lines.append_value(rejected.line);
            table.append_value(rejected.table);
            column.append_option(rejected.column);
            reason.append_value(rejected.reason);
            raw.append_value(rejected.raw);
        }
        let mut cells: Vec<ArrayRef> =
            texts.iter_mut().map(|text| Arc::new(text.finish()) as ArrayRef).collect();
        cells.insert(LINE, Arc::new(lines.finish()));
        RecordBatch::try_new(quarantine_schema(), cells)
            .expect("the columns are built in the order of the schema, with equal lengths")
    }

    pub fn finish(mut self, metadata: &[(&str, String)]) -> Result<Finished, StoreError> {
        self.write()?;
        self.writer.finish(metadata)
    }
}

/// The first rows of a quarantine file with this hash, at most `most`.
pub(in crate::store) fn first_rows(
    path: &Path,
    hash: &str,
    most: usize,
) -> Result<Vec<Quarantined>, StoreError> {
    let part = open_whole(path, hash)?;
    let mut rows = Vec::new();
    for batch in part.batches(&[], most.clamp(1, BATCH))? {
        for row in rows_of(&batch?) {
            if rows.len() == most {
                return Ok(rows);
            }
            rows.push(row);
        }
    }
    Ok(rows)
}

/// Opens a quarantine file that must have this hash.
pub(in crate::store) fn open_whole(path: &Path, hash: &str) -> Result<PartReader, StoreError> {
    let found = hash_file(path).map_err(|error| StoreError::damaged(path, error))?;
    if found != hash {
        return Err(StoreError::damaged(path, format!("BLAKE3: found {found}, expected {hash}")));
    }
    open_part(path, &quarantine_schema(), &Sums::of_file(path)?.text())
}

/// The rows of a batch of the quarantine's schema.
fn rows_of(batch: &RecordBatch) -> Vec<Quarantined> {
    let text =
        |column: usize, row: usize| batch.column(column).as_string::<i32>().value(row).to_string();
    let lines = batch.column(LINE).as_primitive::<UInt64Type>();
    (0..batch.num_rows())
        .map(|row| Quarantined {
            source: text(0, row),
            file: text(1, row),
            line: lines.value(row),
            table: text(3, row),
            column: batch.column(4).is_valid(row).then(|| text(4, row)),
            reason: text(5, row),
            raw: text(6, row),
        })
        .collect()
}

/// The same for its quarantine.
pub(in crate::store) const MEMORY_OF_QUARANTINE: usize = 8 << 20;
