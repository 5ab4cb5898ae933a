//! A Parquet file as rows of cell texts.
//!
//! Promises: memory is bounded by a batch of rows and by the pages that are open, not by the file;
//! a file that is damaged, cut off or asks for absurd sizes gives an error, whatever the library
//! does on it. Lengths are compared with the file before anything is reserved for them. The copy of
//! an Arrow schema that some programs keep in a file is not looked at.

use std::fs::File;
use std::io;

use arrow::error::ArrowError;
use parquet::arrow::arrow_reader::{
    ArrowReaderMetadata, ArrowReaderOptions, ParquetRecordBatchReader,
    ParquetRecordBatchReaderBuilder,
};
use parquet::file::metadata::PageIndexPolicy;
use parquet::file::reader::{ChunkReader, Length};

use super::page_header::damaged;
use super::page_sizes::{BATCHES, check_pages};
use super::text::{ColumnTexts, texts};
use crate::tabular::first_bytes::FIRST_BYTES;
use crate::tabular::guarded::guarded;
use crate::tabular::other_kind::check_known;
use crate::tabular::room::{LIST, Room};
use crate::tabular::row::{Row, TableRows};
use crate::tabular::row_buffer::RowBuffer;
use crate::tabular::table_error::TableError;

/// First and last bytes of a file, and last bytes of one that is encrypted.
const MAGIC: &[u8] = b"PAR1";
const ENCRYPTED: &[u8] = b"PARE";

/// Bytes behind the footer: its length and the magic.
const TAIL: u64 = 8;

/// Most columns.
const MOST_COLUMNS: usize = 16_384;

/// Share that the pages which are open may take; the values of a batch take another, and their texts.
const PAGES: u64 = 4;

/// The rows of a Parquet file; the first holds the names of the columns.
pub struct ParquetRows {
    batches: ParquetRecordBatchReader,
    names: Vec<String>,
    /// By column, the texts of the batch.
    texts: Vec<ColumnTexts>,
    /// Rows of the batch, and how many of them are given out.
    held: usize,
    given: usize,
    /// Rows given out, with that of the names.
    line: u64,
    promised: u64,
    buffer: RowBuffer,
}

impl ParquetRows {
    /// Opens a file.
    ///
    /// # Errors
    /// When it is damaged, encrypted or beyond bounds, or there is no room for its pages.
    pub fn open(file: File, room: Room) -> Result<Self, TableError> {
        check_ends(&file, room)?;
        let options = ArrowReaderOptions::new()
            .with_skip_arrow_metadata(true)
            .with_page_index_policy(PageIndexPolicy::Skip);
        let metadata = of_library(guarded(|| ArrowReaderMetadata::load(&file, options)))?;
        let held = guarded(|| check_pages(&file, metadata.metadata())).map_err(damaged)??;
        let advice = "write it with smaller pages";
        room.check("pages of a Parquet file, open at once, that take", held.open, PAGES, advice)?;
        let rows = metadata.metadata().file_metadata().num_rows();
        let promised = u64::try_from(rows).map_err(|_| damaged(format!("{rows} rows")))?;
        let fields = metadata.schema().fields();
        if fields.len() > MOST_COLUMNS {
            return Err(TableError::TooMany {
                what: "columns",
                found: fields.len() as u64,
                most: MOST_COLUMNS as u64,
                advice: "write fewer columns",
            });
        }
        let names = fields.iter().map(|field| field.name().clone()).collect();
        let fitting = held.batch.iter().position(|bytes| *bytes <= room.share(PAGES));
        let batch = fitting.map_or(1, |place| BATCHES[place]);
        let batches = of_library(guarded(|| {
            ParquetRecordBatchReaderBuilder::new_with_metadata(file, metadata)
                .with_batch_size(usize::try_from(batch).unwrap_or(1))
                .build()
        }))?;
        let (texts, buffer) = (Vec::new(), RowBuffer::default());
        Ok(Self { batches, names, texts, held: 0, given: 0, line: 0, promised, buffer })
    }

    /// Reads the next batch that has rows; false at the end.
    fn read_batch(&mut self) -> Result<bool, TableError> {
        loop {
            let next = guarded(|| self.batches.next()).map_err(damaged)?;
            let Some(batch) = next.transpose().map_err(of_arrow)? else {
                let read = self.line - 1;
                if read < self.promised {
                    let promised = self.promised;
                    return Err(damaged(format!("{read} of {promised} rows are there")));
                }
                return Ok(false);
            };
            if batch.num_rows() > 0 {
                let columns = batch.columns();
                let read = guarded(|| columns.iter().map(|column| texts(column)).collect());
                let read: Result<Vec<ColumnTexts>, ArrowError> = read.map_err(damaged)?;
                self.texts = read.map_err(of_arrow)?;
                (self.held, self.given) = (batch.num_rows(), 0);
                return Ok(true);
            }
        }
    }
}

impl TableRows for ParquetRows {
    fn next_row(&mut self) -> io::Result<Option<Row<'_>>> {
        self.buffer.clear();
        if self.line == 0 {
            self.names.iter().for_each(|name| self.buffer.push(name.as_bytes()));
        } else {
            if self.given == self.held && !self.read_batch()? {
                return Ok(None);
            }
            self.texts.iter().for_each(|texts| self.buffer.push(texts.get(self.given)));
            self.given += 1;
        }
        self.line += 1;
        Ok(Some(self.buffer.row(self.line)))
    }

    fn line(&self) -> u64 {
        self.line + 1
    }
}

/// Checks how the file begins and ends, and that its footer lies inside it.
fn check_ends(file: &File, room: Room) -> Result<(), TableError> {
    let length = file.len();
    if length < MAGIC.len() as u64 + TAIL {
        return Err(damaged(format!("{length} bytes are too few")));
    }
    let get = |at, count| file.get_bytes(at, count).map_err(|error| damaged(error.to_string()));
    let (start, tail) = (get(0, MAGIC.len())?, get(length - TAIL, TAIL as usize)?);
    let (count, end) = tail.split_at(MAGIC.len());
    if end == ENCRYPTED || start == ENCRYPTED {
        return Err(TableError::Encrypted);
    }
    if start != MAGIC || end != MAGIC {
        check_known(&get(0, FIRST_BYTES.min(usize::try_from(length).unwrap_or(FIRST_BYTES)))?)?;
        return Err(damaged("it does not begin and end with PAR1"));
    }
    let footer = count.iter().rev().fold(0, |sum, &byte| sum << 8 | u64::from(byte));
    if footer > length - TAIL - MAGIC.len() as u64 {
        return Err(damaged(format!("its footer of {footer} bytes is longer than the file")));
    }
    room.check("a footer that takes", footer, LIST, "write it with larger row groups")?;
    Ok(())
}

/// What the library says or throws, as damage.
fn of_library<T>(result: Result<parquet::errors::Result<T>, String>) -> Result<T, TableError> {
    result.map_err(damaged)?.map_err(|error| damaged(error.to_string()))
}

fn of_arrow(error: ArrowError) -> TableError {
    damaged(error.to_string())
}
