//! Reading parts back: column by column, batch by batch, the dropped records left out.
//!
//! The store's own files are foreign bytes too once a disk has had them, so whatever the Parquet
//! library does on reading, panics included, ends as [`StoreError::Damaged`] with the file's name.

use std::path::{Path, PathBuf};

use arrow::array::{BooleanArray, RecordBatch};
use arrow::compute::filter_record_batch;
use arrow::datatypes::Schema;
use parquet::arrow::ProjectionMask;
use parquet::arrow::arrow_reader::{ParquetRecordBatchReader, ParquetRecordBatchReaderBuilder};

use super::StoreError;
use super::disk::checked::{CheckedFile, Sums};
use super::settle::fates::{Fate, Fates};
use crate::tabular;

/// Most rows of one batch.
pub(super) const BATCH_ROWS: usize = 65_536;

/// Runs a piece of the Parquet library on bytes from disk.
pub(super) fn guarded<T, E: ToString>(
    path: &Path,
    work: impl FnOnce() -> Result<T, E>,
) -> Result<T, StoreError> {
    match tabular::guarded(work) {
        Ok(done) => done.map_err(|error| StoreError::damaged(path, error)),
        Err(_) => Err(StoreError::damaged(path, "its pages contradict each other")),
    }
}

/// A part whose footer has been read.
pub(super) struct PartReader {
    path: PathBuf,
    builder: ParquetRecordBatchReaderBuilder<CheckedFile>,
}

/// Opens a part that must have this schema and these sums.
pub(super) fn open_part(
    path: &Path,
    schema: &Schema,
    sums: &str,
) -> Result<PartReader, StoreError> {
    let sums = Sums::parse(sums).ok_or_else(|| StoreError::damaged(path, "has no sums"))?;
    let (file, metadata) = CheckedFile::open(path, &sums)?;
    let builder = ParquetRecordBatchReaderBuilder::new_with_metadata(file, metadata);
    if builder.schema().fields() != schema.fields() {
        return Err(StoreError::damaged(path, "has other columns than its table"));
    }
    Ok(PartReader { path: path.to_path_buf(), builder })
}

impl PartReader {
    /// Rows that the footer tells of.
    pub fn rows(&self) -> u64 {
        u64::try_from(self.builder.metadata().file_metadata().num_rows()).unwrap_or(0)
    }

    /// Batches of at most `size` rows with these columns in the order of the schema; no names, all columns.
    pub fn batches(self, columns: &[&str], size: usize) -> Result<Batches, StoreError> {
        let mask = match columns {
            [] => ProjectionMask::all(),
            names => ProjectionMask::columns(self.builder.parquet_schema(), names.iter().copied()),
        };
        let builder = self.builder.with_projection(mask).with_batch_size(size);
        let reader = guarded(&self.path, || builder.build())?;
        Ok(Batches { path: self.path, reader, failed: false })
    }
}

/// All batches of a part. Ends after its first error.
pub(super) struct Batches {
    path: PathBuf,
    reader: ParquetRecordBatchReader,
    failed: bool,
}

impl Iterator for Batches {
    type Item = Result<RecordBatch, StoreError>;

    fn next(&mut self) -> Option<Self::Item> {
        if self.failed {
            return None;
        }
        let next = guarded(&self.path, || self.reader.next().transpose()).transpose()?;
        self.failed = next.is_err();
        Some(next)
    }
}

/// The standing records of a part, in their order of arrival.
///
/// A batch without dropped records passes as it is, one without standing ones is left out. Masking
/// batches, not a selection handed to the Parquet reader: exports that overlap drop records in
/// short runs, for which a selection takes more memory than the part's own columns.
pub(super) struct Standing {
    batches: Batches,
    fates: Option<Fates>,
    /// Source and file of the export, for what to do about damage.
    whence: (String, String),
    /// Records before the next batch.
    before: usize,
}

impl Standing {
    pub fn new(batches: Batches, fates: Option<Fates>, whence: (String, String)) -> Self {
        Self { batches, fates, whence, before: 0 }
    }

    fn standing(&mut self, batch: RecordBatch) -> Result<Option<RecordBatch>, StoreError> {
        let rows = batch.num_rows();
        let range = self.before..self.before + rows;
        self.before = range.end;
        let Some(fates) = &self.fates else {
            return Ok(Some(batch));
        };
        let mask: Vec<bool> = range.map(|at| fates.get(at) == Fate::Stands).collect();
        match mask.iter().filter(|stands| **stands).count() {
            0 => Ok(None),
            all if all == rows => Ok(Some(batch)),
            _ => {
                let mask = BooleanArray::from(mask);
                guarded(&self.batches.path, || filter_record_batch(&batch, &mask)).map(Some)
            }
        }
    }
}

impl Iterator for Standing {
    type Item = Result<RecordBatch, StoreError>;

    fn next(&mut self) -> Option<Self::Item> {
        loop {
            let standing = match self.batches.next()? {
                Ok(batch) => self.standing(batch),
                Err(error) => Err(error),
            };
            if let Some(item) = standing.transpose() {
                return Some(item.map_err(|error| error.of_export(&self.whence.0, &self.whence.1)));
            }
        }
    }
}
