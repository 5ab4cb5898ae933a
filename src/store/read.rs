//! Reading parts back: column by column, batch by batch, the dropped records left out.
//!
//! The store's own files are foreign bytes too once a disk has had them, so whatever the Parquet
//! library does on reading, panics included, ends as [`StoreError::Damaged`] with the file's name.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use arrow::array::{BooleanArray, RecordBatch, new_null_array};
use arrow::compute::filter_record_batch;
use arrow::datatypes::{Schema, SchemaRef};
use parquet::arrow::ProjectionMask;
use parquet::arrow::arrow_reader::{ParquetRecordBatchReader, ParquetRecordBatchReaderBuilder};
use parquet::column::page::{Page, PageReader};
use parquet::file::serialized_reader::SerializedPageReader;

use super::StoreError;
use super::disk::checked::{CheckedFile, SharedFile, Sums};
use super::disk::guarded::guarded;
use super::settle::fates::{Fate, Fates};

/// Most rows of one batch.
pub(super) const BATCH_ROWS: usize = 65_536;

/// Most bytes of a column chunk that may hold nothing but nulls: a page of no words, pages of runs of nulls.
const HOLLOW_BYTES: i64 = 256;

/// A part whose footer has been read.
pub(super) struct PartReader {
    path: PathBuf,
    file: SharedFile,
    builder: ParquetRecordBatchReaderBuilder<SharedFile>,
}

/// Opens a part that must have this schema and these sums.
pub(super) fn open_part(
    path: &Path,
    schema: &Schema,
    sums: &str,
) -> Result<PartReader, StoreError> {
    let sums = Sums::parse(sums).ok_or_else(|| StoreError::damaged(path, "has no sums"))?;
    let (file, metadata) = CheckedFile::open(path, &sums)?;
    let file = SharedFile::of(file);
    let builder = ParquetRecordBatchReaderBuilder::new_with_metadata(file.clone(), metadata);
    if builder.schema().fields() != schema.fields() {
        return Err(StoreError::damaged(path, "has other columns than its table"));
    }
    Ok(PartReader { path: path.to_path_buf(), file, builder })
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
        Ok(Batches { path: self.path, reader, filled: None, failed: false })
    }

    /// The same, but columns of codes that hold nothing are not decoded, and come as nulls: for a column without a
    /// word the Parquet library makes a dictionary row by row, which costs more than a column that has some.
    pub fn batches_of_given(self, columns: &[&str], size: usize) -> Result<Batches, StoreError> {
        let given: Vec<&str> =
            columns.iter().copied().filter(|name| !self.is_hollow(name)).collect();
        if given.is_empty() || given.len() == columns.len() {
            return self.batches(columns, size);
        }
        let schema = self.builder.schema();
        let asked = schema.fields().iter().filter(|field| columns.contains(&field.name().as_str()));
        let asked: SchemaRef = Arc::new(Schema::new(asked.cloned().collect::<Vec<_>>()));
        Ok(Batches { filled: Some(asked), ..self.batches(&given, size)? })
    }

    /// Whether a column of codes has no word in the whole part. One that cannot be read has: reading it says why not.
    fn is_hollow(&self, name: &str) -> bool {
        let Ok(place) = self.builder.schema().index_of(name) else { return false };
        let mut groups = self.builder.metadata().row_groups().iter();
        groups.all(|group| {
            let chunk = group.column(place);
            let small = chunk.uncompressed_size() <= HOLLOW_BYTES;
            if !small || chunk.dictionary_page_offset().is_none() {
                return false;
            }
            let rows = usize::try_from(group.num_rows()).unwrap_or(0);
            let first = guarded(&self.path, || {
                SerializedPageReader::new(Arc::new(self.file.clone()), chunk, rows, None)?
                    .get_next_page()
            });
            matches!(first, Ok(Some(Page::DictionaryPage { num_values: 0, .. })))
        })
    }
}

/// All batches of a part. Ends after its first error.
pub(super) struct Batches {
    path: PathBuf,
    reader: ParquetRecordBatchReader,
    /// All columns that were asked for, where some are not read and come as nulls.
    filled: Option<SchemaRef>,
    failed: bool,
}

impl Batches {
    fn filled(&self, batch: RecordBatch) -> Result<RecordBatch, StoreError> {
        let Some(asked) = &self.filled else { return Ok(batch) };
        let columns = asked.fields().iter().map(|field| match batch.column_by_name(field.name()) {
            Some(column) => Arc::clone(column),
            None => new_null_array(field.data_type(), batch.num_rows()),
        });
        let columns = columns.collect();
        guarded(&self.path, || RecordBatch::try_new(Arc::clone(asked), columns))
    }
}

impl Iterator for Batches {
    type Item = Result<RecordBatch, StoreError>;

    fn next(&mut self) -> Option<Self::Item> {
        if self.failed {
            return None;
        }
        let next = guarded(&self.path, || self.reader.next().transpose()).transpose()?;
        let next = next.and_then(|batch| self.filled(batch));
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
                let (source, file) = &self.whence;
                let told = |error: StoreError| error.behind(self.before).of_export(source, file);
                return Some(item.map_err(told));
            }
        }
    }
}
