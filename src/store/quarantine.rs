//! Rows that could not be typed: written beside the parts, read back as examples.

use std::path::Path;
use std::sync::Arc;

use arrow::array::{Array, ArrayRef, AsArray, RecordBatch, StringBuilder, UInt64Builder};
use arrow::datatypes::UInt64Type;

use crate::intake::Rejected;
use crate::records::quarantine_schema;

use super::StoreError;
use super::part::{Finished, PartWriter};
use super::read::open_part;

/// Rows kept in memory before they are written; each is a few hundred bytes at most.
const BATCH: usize = 4096;

/// Place of the line in the schema; all other columns are texts.
const LINE: usize = 2;

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
pub(super) struct QuarantineWriter {
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
        if self.writer.memory() > super::sink::MEMORY_OF_QUARANTINE {
            self.writer.flush()
        } else {
            Ok(())
        }
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

/// The first rows of a quarantine file, at most `most`.
pub(super) fn first_rows(path: &Path, most: usize) -> Result<Vec<Quarantined>, StoreError> {
    let mut rows = Vec::new();
    let part = open_part(path, &quarantine_schema())?;
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
