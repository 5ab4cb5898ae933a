//! Parquet files whose bytes are checked before they are decoded.
//!
//! The manifest holds a sum of every column chunk and of the footer, so whoever reads some columns of
//! a large part pays for those alone. (Page checksums would serve as well, but the Parquet library
//! writes none.) XXH3 with 64 bits: it is there to find damage, and costs less than the reading; BLAKE3 of
//! whole files, which nobody can forge, is what `verify` goes by.

use std::fs::File;
use std::io::{BufReader, Cursor, Read, Seek, SeekFrom};
use std::ops::Range;
use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};

use bytes::Bytes;
use parquet::arrow::arrow_reader::{ArrowReaderMetadata, ArrowReaderOptions};
use parquet::errors::{ParquetError, Result as ParquetResult};
use parquet::file::metadata::ParquetMetaData;
use parquet::file::reader::{ChunkReader, Length};
use xxhash_rust::xxh3::{Xxh3, xxh3_64};

use super::guarded::guarded;
use crate::store::StoreError;

/// Bytes behind the footer: its length and the format's name.
const TRAILER: u64 = 8;

/// The format's name at the start of a file.
const HEAD: u64 = 4;

/// Hex digits of one sum.
const SUM_CHARS: usize = 16;

/// Longest chunk that is kept whole while it is read, bytes: such a chunk is read from the disk once.
/// A longer one is read twice, so that memory does not grow with the length of parts.
const KEPT: u64 = 1 << 19;

/// Bytes of a longer one that are summed at a time.
const PIECE: usize = 1 << 18;

/// The sums of a file's chunks, group by group and column by column, and last that of its footer. In
/// the manifest as hex digits without anything between.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::store) struct Sums(Vec<u64>);

impl Sums {
    /// Reads the form of the manifest; none if it is not that.
    pub fn parse(text: &str) -> Option<Self> {
        if !text.len().is_multiple_of(SUM_CHARS) {
            return None;
        }
        let digits = text.as_bytes().chunks(SUM_CHARS);
        let sums: Option<Vec<u64>> = digits
            .map(|digits| u64::from_str_radix(std::str::from_utf8(digits).ok()?, 16).ok())
            .collect();
        sums.filter(|sums| !sums.is_empty()).map(Self)
    }

    /// The form of the manifest.
    pub fn text(&self) -> String {
        self.0.iter().map(|sum| format!("{sum:016x}")).collect()
    }

    /// Sums the bytes of a file that the writer has just said this of; none if they are not what it said.
    pub fn of_bytes(bytes: &[u8], about: &ParquetMetaData) -> Option<Self> {
        let (before, trailer) = bytes.split_last_chunk::<{ TRAILER as usize }>()?;
        let [a, b, c, d, ..] = *trailer;
        let footer_at = before.len().checked_sub(u32::from_le_bytes([a, b, c, d]) as usize)?;
        let mut sums = Vec::new();
        for Range { start, end } in ranges(about)? {
            let range = usize::try_from(start).ok()?..usize::try_from(end).ok()?;
            sums.push(xxh3_64(bytes.get(range)?));
        }
        sums.push(xxh3_64(&bytes[footer_at..]));
        Some(Self(sums))
    }

    /// Sums a file that has just been written, or that is known to be whole by its hash.
    pub fn of_file(path: &Path) -> Result<Self, StoreError> {
        let file = CheckedFile::start(path)?;
        let footer = xxh3_64(&file.footer);
        let metadata = file.metadata(path)?;
        let mut sums = Vec::new();
        for chunk in chunks_of(path, &metadata)? {
            sums.push(file.sum(&chunk).map_err(StoreError::io(path, "read"))?);
        }
        sums.push(footer);
        Ok(Self(sums))
    }
}

/// A column chunk.
struct Chunk {
    range: Range<u64>,
    sum: u64,
    state: Mutex<State>,
}

/// How far the checking of a chunk is.
enum State {
    Unread,
    /// Checked and in memory.
    Kept(Bytes),
    /// Checked; its bytes are those of the file.
    Checked,
}

/// A Parquet file that gives no byte of a chunk before the whole chunk has been checked.
pub(in crate::store) struct CheckedFile {
    file: File,
    length: u64,
    /// Where the footer begins.
    footer_at: u64,
    /// From there to the end.
    footer: Bytes,
    chunks: Vec<Chunk>,
}

impl CheckedFile {
    /// Opens a file that must have these sums, and reads what its footer says.
    pub fn open(path: &Path, sums: &Sums) -> Result<(Self, ArrowReaderMetadata), StoreError> {
        let mut file = Self::start(path)?;
        let Some((footer, sums)) = sums.0.split_last() else {
            return Err(StoreError::damaged(path, "has no sums in the manifest"));
        };
        if xxh3_64(&file.footer) != *footer {
            return Err(StoreError::damaged(path, "its footer is not the one that was written"));
        }
        let metadata = file.metadata(path)?;
        let ranges = chunks_of(path, &metadata)?;
        if ranges.len() != sums.len() {
            return Err(StoreError::damaged(path, "has not as many columns as were written"));
        }
        let state = || Mutex::new(State::Unread);
        let chunk = |(range, sum): (Range<u64>, &u64)| Chunk { range, sum: *sum, state: state() };
        file.chunks = ranges.into_iter().zip(sums).map(chunk).collect();
        Ok((file, metadata))
    }

    /// Opens a file as far as its footer, of which nothing has been checked.
    fn start(path: &Path) -> Result<Self, StoreError> {
        let damaged = |error: std::io::Error| StoreError::damaged(path, error);
        let mut file = File::open(path).map_err(damaged)?;
        let length = file.metadata().map_err(damaged)?.len();
        let cut = || StoreError::damaged(path, "is cut short");
        let trailer_at = length.checked_sub(TRAILER).ok_or_else(cut)?;
        let mut trailer = [0; TRAILER as usize];
        file.seek(SeekFrom::Start(trailer_at)).map_err(damaged)?;
        file.read_exact(&mut trailer).map_err(damaged)?;
        let [a, b, c, d, ..] = trailer;
        let footer_length = u64::from(u32::from_le_bytes([a, b, c, d]));
        let footer_at = trailer_at.checked_sub(footer_length).filter(|at| *at >= HEAD);
        let footer_at = footer_at.ok_or_else(cut)?;
        let mut footer = Vec::new();
        file.seek(SeekFrom::Start(footer_at)).map_err(damaged)?;
        (&file).take(length - footer_at).read_to_end(&mut footer).map_err(damaged)?;
        if footer.len() as u64 != length - footer_at {
            return Err(cut());
        }
        Ok(Self { file, length, footer_at, footer: footer.into(), chunks: Vec::new() })
    }

    fn metadata(&self, path: &Path) -> Result<ArrowReaderMetadata, StoreError> {
        guarded(path, || ArrowReaderMetadata::load(self, ArrowReaderOptions::new()))
    }

    /// XXH3 of a range.
    fn sum(&self, range: &Range<u64>) -> std::io::Result<u64> {
        let mut rest = self.reader(range.start)?.take(range.end.saturating_sub(range.start));
        let mut hasher = Xxh3::new();
        let mut piece = vec![0; PIECE];
        loop {
            match rest.read(&mut piece) {
                Ok(0) => return Ok(hasher.digest()),
                Ok(read) => hasher.update(&piece[..read]),
                Err(error) if error.kind() == std::io::ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
    }

    fn reader(&self, start: u64) -> std::io::Result<File> {
        let mut file = self.file.try_clone()?;
        file.seek(SeekFrom::Start(start))?;
        Ok(file)
    }

    /// The chunk that holds a byte, checked. Bytes outside of all chunks are nobody's to read.
    fn checked(&self, at: u64) -> ParquetResult<(&Chunk, Option<Bytes>)> {
        let place = self.chunks.iter().position(|chunk| chunk.range.contains(&at));
        let Some((place, chunk)) = place.and_then(|at| Some((at, self.chunks.get(at)?))) else {
            return Err(ParquetError::General(format!("byte {at} belongs to no column")));
        };
        // The state is set as a whole, so a panic elsewhere cannot have left half of one.
        let mut state = chunk.state.lock().unwrap_or_else(PoisonError::into_inner);
        if let State::Unread = *state {
            let length = chunk.range.end - chunk.range.start;
            let (sum, read) = if length <= KEPT {
                let mut bytes = Vec::with_capacity(length as usize);
                self.reader(chunk.range.start)?.take(length).read_to_end(&mut bytes)?;
                let bytes = Bytes::from(bytes);
                (xxh3_64(&bytes), State::Kept(bytes))
            } else {
                (self.sum(&chunk.range)?, State::Checked)
            };
            if sum != chunk.sum {
                let why = format!("column chunk {place} is not the one that was written");
                return Err(ParquetError::General(why));
            }
            *state = read;
        }
        let kept = match &*state {
            State::Kept(bytes) => Some(bytes.clone()),
            State::Unread | State::Checked => None,
        };
        Ok((chunk, kept))
    }
}

/// Where the column chunks are, group by group.
fn chunks_of(path: &Path, metadata: &ArrowReaderMetadata) -> Result<Vec<Range<u64>>, StoreError> {
    guarded(path, || ranges(metadata.metadata()).ok_or("a column is longer than any file"))
}

/// The same of what a writer says; none where a range is longer than any file.
fn ranges(metadata: &ParquetMetaData) -> Option<Vec<Range<u64>>> {
    let columns = metadata.row_groups().iter().flat_map(|group| group.columns());
    let range = |(start, length): (u64, u64)| Some(start..start.checked_add(length)?);
    columns.map(|column| range(column.byte_range())).collect()
}

/// Bytes of a checked file, from memory or from the disk.
pub(in crate::store) enum CheckedBytes {
    Kept(Cursor<Bytes>),
    OnDisk(std::io::Take<BufReader<File>>),
}

impl Read for CheckedBytes {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        match self {
            CheckedBytes::Kept(bytes) => bytes.read(into),
            CheckedBytes::OnDisk(file) => file.read(into),
        }
    }
}

impl Length for CheckedFile {
    fn len(&self) -> u64 {
        self.length
    }
}

impl ChunkReader for CheckedFile {
    type T = CheckedBytes;

    fn get_read(&self, start: u64) -> ParquetResult<CheckedBytes> {
        let kept = |bytes: Bytes| CheckedBytes::Kept(Cursor::new(bytes));
        if start >= self.footer_at {
            return Ok(kept(piece(&self.footer, start - self.footer_at, None)?));
        }
        let (chunk, bytes) = self.checked(start)?;
        match bytes {
            Some(bytes) => Ok(kept(piece(&bytes, start - chunk.range.start, None)?)),
            None => {
                let file = BufReader::new(self.reader(start)?);
                Ok(CheckedBytes::OnDisk(file.take(chunk.range.end - start)))
            }
        }
    }

    fn get_bytes(&self, start: u64, length: usize) -> ParquetResult<Bytes> {
        if length == 0 {
            // The data of a page of nulls, which may end its column.
            return Ok(Bytes::new());
        }
        if start >= self.footer_at {
            return piece(&self.footer, start - self.footer_at, Some(length));
        }
        let (chunk, bytes) = self.checked(start)?;
        match bytes {
            Some(bytes) => {
                let end = start.saturating_add(length as u64);
                let asked = piece(&bytes, start - chunk.range.start, Some(length));
                if end >= chunk.range.end {
                    // Nobody comes back to a chunk whose end has been given.
                    *chunk.state.lock().unwrap_or_else(PoisonError::into_inner) = State::Unread;
                }
                asked
            }
            None if start.saturating_add(length as u64) <= chunk.range.end => {
                let mut bytes = vec![0; length];
                self.reader(start)?.read_exact(&mut bytes)?;
                Ok(bytes.into())
            }
            None => Err(ParquetError::EOF("a page reaches beyond its column".into())),
        }
    }
}

/// From `start` so many bytes, or all.
fn piece(bytes: &Bytes, start: u64, length: Option<usize>) -> ParquetResult<Bytes> {
    let short = || ParquetError::EOF("asked for more than there is".into());
    let start = usize::try_from(start).ok().filter(|start| *start <= bytes.len());
    let start = start.ok_or_else(short)?;
    let end = match length {
        Some(length) => start.checked_add(length).filter(|end| *end <= bytes.len()),
        None => Some(bytes.len()),
    };
    Ok(bytes.slice(start..end.ok_or_else(short)?))
}

/// A checked file that several read.
#[derive(Clone)]
pub(in crate::store) struct SharedFile(Arc<CheckedFile>);

impl SharedFile {
    /// Of a file.
    pub fn of(file: CheckedFile) -> SharedFile {
        SharedFile(Arc::new(file))
    }
}

impl Length for SharedFile {
    fn len(&self) -> u64 {
        self.0.len()
    }
}

impl ChunkReader for SharedFile {
    type T = CheckedBytes;

    fn get_read(&self, start: u64) -> ParquetResult<CheckedBytes> {
        self.0.get_read(start)
    }

    fn get_bytes(&self, start: u64, length: usize) -> ParquetResult<Bytes> {
        self.0.get_bytes(start, length)
    }
}
