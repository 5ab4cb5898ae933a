//! One Parquet file of the store: its encodings, its metadata, and the memory it may take.

use std::fs::File;
use std::path::{Path, PathBuf};

use arrow::array::{Array, RecordBatch, TimestampMicrosecondArray};
use arrow::compute::max;
use arrow::datatypes::{DataType, SchemaRef};
use parquet::arrow::ArrowWriter;
use parquet::basic::{Compression, Encoding, ZstdLevel};
use parquet::column::writer::ColumnCloseResult;
use parquet::file::metadata::{KeyValue, ParquetMetaDataReader};
use parquet::file::properties::{
    EnabledStatistics, WriterProperties, WriterPropertiesBuilder, WriterVersion,
};
use parquet::schema::types::ColumnPath;

use crate::intake::BATCH_ROWS;
use crate::records::{IDENTITY_COLUMNS, Kind, ROW_COLUMN, Table, columns, schema};

use super::checked::Sums;
use super::durable::HashedFile;
use crate::store::StoreError;

/// Rows of a row group, unless memory ends it earlier: large enough for dictionaries to pay.
const GROUP_ROWS: usize = 1 << 20;

/// Fewest texts of a column of a short export that are worth compressing. The Parquet library makes a compressor and a
/// decompressor for each such column, when it is written and when it is read, which takes longer than the rows do;
/// codes and numbers are packed to bits already.
const TEXTS_TO_COMPRESS: usize = 1_024;

/// What a finished file is known by.
pub(in crate::store) struct Finished {
    /// BLAKE3, hex.
    pub hash: String,
    /// Of its column chunks, as the manifest has them.
    pub sums: String,
    pub rows: u64,
    /// Latest time in the table's time column, microseconds UTC.
    pub newest: Option<i64>,
}

/// Writes one Parquet file, batch by batch.
pub(in crate::store) struct PartWriter {
    writer: ArrowWriter<HashedFile>,
    time: Option<usize>,
    newest: Option<i64>,
    rows: u64,
}

impl PartWriter {
    /// Starts the part of a table at `path`. `first` is the batch that it will begin with: of a short export only texts
    /// are compressed, and those only if it has some rows.
    pub fn table(path: &Path, table: Table, first: &RecordBatch) -> Result<Self, StoreError> {
        let schema = schema(table);
        let time = table.time_column().and_then(|name| schema.index_of(name).ok());
        let mut properties = table_properties(table);
        if first.num_rows() < BATCH_ROWS {
            for (field, column) in schema.fields().iter().zip(first.columns()) {
                let given = column.len() - column.null_count();
                if *field.data_type() != DataType::Utf8 || given < TEXTS_TO_COMPRESS {
                    let path = ColumnPath::from(field.name().as_str());
                    properties = properties.set_column_compression(path, Compression::UNCOMPRESSED);
                }
            }
        }
        Self::start(path, schema, properties.build(), time)
    }

    /// Starts a file of any schema, all columns encoded alike.
    pub fn plain(path: &Path, schema: SchemaRef) -> Result<Self, StoreError> {
        Self::start(path, schema, base_properties().build(), None)
    }

    fn start(
        path: &Path,
        schema: SchemaRef,
        properties: WriterProperties,
        time: Option<usize>,
    ) -> Result<Self, StoreError> {
        let file = HashedFile::create(path)?;
        let writer = ArrowWriter::try_new(file, schema, Some(properties))
            .map_err(StoreError::writing(path))?;
        Ok(Self { writer, time, newest: None, rows: 0 })
    }

    /// Adds a batch of the schema given at the start.
    pub fn push(&mut self, batch: &RecordBatch) -> Result<(), StoreError> {
        let times = self.time.map(|at| batch.column(at).as_any());
        if let Some(times) = times.and_then(|any| any.downcast_ref::<TimestampMicrosecondArray>()) {
            self.newest = self.newest.max(max(times));
        }
        self.rows += batch.num_rows() as u64;
        let written = self.writer.write(batch);
        written.map_err(StoreError::writing(self.writer.inner().path()))
    }

    pub fn rows(&self) -> u64 {
        self.rows
    }

    /// Latest time so far in the table's time column, microseconds UTC.
    pub fn newest(&self) -> Option<i64> {
        self.newest
    }

    /// Bytes that the row group in progress holds.
    pub fn memory(&self) -> usize {
        self.writer.memory_size()
    }

    /// Ends the row group in progress and with it frees its memory.
    pub fn flush(&mut self) -> Result<(), StoreError> {
        let flushed = self.writer.flush();
        flushed.map_err(StoreError::writing(self.writer.inner().path()))
    }

    /// Adds the metadata and ends the file.
    pub fn finish(mut self, metadata: &[(&str, String)]) -> Result<Finished, StoreError> {
        for (key, value) in metadata {
            let entry = KeyValue::new((*key).to_string(), value.clone());
            self.writer.append_key_value_metadata(entry);
        }
        let path = self.writer.inner().path().to_path_buf();
        let about = self.writer.finish().map_err(StoreError::writing(&path))?;
        let (hash, bytes) = self.writer.inner_mut().end()?;
        let sums = match bytes.and_then(|bytes| Sums::of_bytes(&bytes, &about)) {
            Some(sums) => sums,
            None => Sums::of_file(&path)?,
        };
        Ok(Finished { hash, sums: sums.text(), rows: self.rows, newest: self.newest })
    }
}

/// Writes a part of the row groups of others of its table, one behind the other, as they are: nothing is decoded.
pub(in crate::store) fn splice(
    path: &Path,
    table: Table,
    parts: &[PathBuf],
    newest: Option<i64>,
    metadata: &[(&str, String)],
) -> Result<Finished, StoreError> {
    let file = HashedFile::create(path)?;
    let properties = table_properties(table).build();
    let spliced = || {
        // It writes the Arrow schema into the metadata.
        let begun = ArrowWriter::try_new(file, schema(table), Some(properties))?;
        let (mut writer, _) = begun.into_serialized_writer()?;
        let mut rows = 0;
        for part in parts {
            let part = File::open(part)?;
            let about = ParquetMetaDataReader::new().parse_and_finish(&part)?;
            for group in about.row_groups() {
                let mut next = writer.next_row_group()?;
                for column in group.columns() {
                    let close = ColumnCloseResult {
                        bytes_written: u64::try_from(column.compressed_size())?,
                        rows_written: u64::try_from(group.num_rows())?,
                        metadata: column.clone(),
                        bloom_filter: None,
                        column_index: None,
                        offset_index: None,
                    };
                    next.append_column(&part, close)?;
                }
                next.close()?;
                rows += u64::try_from(group.num_rows())?;
            }
        }
        for (key, value) in metadata {
            writer.append_key_value_metadata(KeyValue::new((*key).to_string(), value.clone()));
        }
        let about = writer.finish()?;
        Ok((writer, about, rows))
    };
    let (mut writer, about, rows) = spliced().map_err(StoreError::writing(path))?;
    let (hash, bytes) = writer.inner_mut().end()?;
    let sums = match bytes.and_then(|bytes| Sums::of_bytes(&bytes, &about)) {
        Some(sums) => sums,
        None => Sums::of_file(path)?,
    };
    Ok(Finished { hash, sums: sums.text(), rows, newest })
}

/// What all columns share. Neither statistics nor indexes: whole columns are read, so nobody asks
/// for them, and `created_by` is ours so that a newer library does not change the bytes by its name.
fn base_properties() -> WriterPropertiesBuilder {
    WriterProperties::builder()
        .set_created_by("motetrail".to_string())
        .set_writer_version(WriterVersion::PARQUET_1_0)
        .set_compression(Compression::ZSTD(ZstdLevel::default()))
        .set_max_row_group_row_count(Some(GROUP_ROWS))
        .set_statistics_enabled(EnabledStatistics::None)
        .set_offset_index_disabled(true)
}

/// Encodings by kind: text of many values as differences to the row before, numbers as packed
/// differences, codes as dictionaries. Hashes do not compress, so they are written as they are.
fn table_properties(table: Table) -> WriterPropertiesBuilder {
    let mut properties = base_properties();
    for column in columns(table) {
        let encoding = match column.kind {
            Kind::Text => Encoding::DELTA_BYTE_ARRAY,
            Kind::Time | Kind::Integer | Kind::Minutes | Kind::Money => {
                Encoding::DELTA_BINARY_PACKED
            }
            Kind::Code | Kind::Person | Kind::Flag => continue,
        };
        properties = encoded(properties, column.name, encoding);
    }
    properties = encoded(properties, ROW_COLUMN, Encoding::DELTA_BINARY_PACKED);
    for name in IDENTITY_COLUMNS {
        properties = encoded(properties, name, Encoding::PLAIN)
            .set_column_compression(ColumnPath::from(name), Compression::UNCOMPRESSED);
    }
    properties
}

fn encoded(
    properties: WriterPropertiesBuilder,
    name: &str,
    encoding: Encoding,
) -> WriterPropertiesBuilder {
    let path = ColumnPath::from(name);
    properties
        .set_column_dictionary_enabled(path.clone(), false)
        .set_column_encoding(path, encoding)
}
