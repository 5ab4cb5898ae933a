//! Plain records scattered over hash buckets, so that each bucket fits into memory.
//!
//! What a writer takes first stays in memory, up to [`HELD`]: a small fleet touches no disk. Beyond it one writer is
//! one unnamed file: each bucket's buffer goes to its end when full, and an index in
//! memory remembers which stretches belong to which bucket. So 256 buckets need one file handle, and
//! a killed process leaves nothing behind. Several threads write a `Spill` each and join the results;
//! a bucket is then the concatenation in the order of joining, independent of who was faster.

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use bytemuck::Pod;

use crate::store::StoreError;

/// Bytes that a writer keeps back over all its buckets.
const ALL_BUFFERS: usize = 4 << 20;
/// Fewest and most bytes kept back per bucket: long enough for sequential writing.
const BUFFER: std::ops::RangeInclusive<usize> = 4 << 10..=64 << 10;

/// Bytes of records that a writer keeps in memory for good. Each thread of a derivation writes some ten kinds of rows.
const HELD: usize = 4 << 20;

/// A stretch of one bucket.
enum Stretch<T> {
    /// In memory.
    Held(Box<[T]>),
    /// In the file.
    Written {
        /// Bytes from the start of the file.
        offset: u64,
        /// Records.
        count: usize,
    },
}

impl<T> Stretch<T> {
    fn count(&self) -> usize {
        match self {
            Stretch::Held(records) => records.len(),
            Stretch::Written { count, .. } => *count,
        }
    }
}

/// Writer: takes records, one bucket number each.
pub struct Spill<T> {
    folder: PathBuf,
    /// Made once it is needed.
    file: Option<File>,
    /// Bytes in memory for good, and in the file.
    held: usize,
    written: u64,
    buffers: Vec<Vec<T>>,
    /// Records that a bucket gathers before they go on.
    kept: usize,
    stretches: Vec<Vec<Stretch<T>>>,
}

impl<T: Pod> Spill<T> {
    /// A spill of `buckets` (at least one) in `folder`, which must exist.
    pub fn new(folder: &Path, buckets: usize) -> Result<Self, StoreError> {
        let buckets = buckets.max(1);
        Ok(Self {
            folder: folder.to_path_buf(),
            file: None,
            held: 0,
            written: 0,
            kept: (ALL_BUFFERS / buckets).clamp(*BUFFER.start(), *BUFFER.end())
                / size_of::<T>().max(1),
            buffers: (0..buckets).map(|_| Vec::new()).collect(),
            stretches: (0..buckets).map(|_| Vec::new()).collect(),
        })
    }

    /// Adds a record to a bucket; `bucket` wraps around at the number of buckets.
    #[inline]
    pub fn push(&mut self, bucket: usize, record: &T) -> Result<(), StoreError> {
        let bucket = bucket % self.buffers.len();
        let buffer = &mut self.buffers[bucket];
        buffer.push(*record);
        if buffer.len() >= self.kept { self.flush(bucket) } else { Ok(()) }
    }

    fn flush(&mut self, bucket: usize) -> Result<(), StoreError> {
        let buffer = &mut self.buffers[bucket];
        let bytes: &[u8] = bytemuck::cast_slice(buffer);
        if self.held + bytes.len() <= HELD {
            self.held += bytes.len();
            let records = std::mem::take(buffer).into_boxed_slice();
            self.stretches[bucket].push(Stretch::Held(records));
            return Ok(());
        }
        let failed = |error| StoreError::io(&self.folder, "write")(error);
        let file = match &mut self.file {
            Some(file) => file,
            none => none.insert(tempfile::tempfile_in(&self.folder).map_err(failed)?),
        };
        file.write_all(bytes).map_err(failed)?;
        let (offset, count) = (self.written, buffer.len());
        self.written += bytes.len() as u64;
        self.stretches[bucket].push(Stretch::Written { offset, count });
        buffer.clear();
        Ok(())
    }

    /// Ends the writing.
    pub fn finish(mut self) -> Result<Buckets<T>, StoreError> {
        for bucket in 0..self.buffers.len() {
            if !self.buffers[bucket].is_empty() {
                self.flush(bucket)?;
            }
        }
        let file = SpillFile { file: self.file.map(Mutex::new), stretches: self.stretches };
        Ok(Buckets { folder: self.folder, files: vec![file] })
    }
}

/// Chunks of records that somewhere else wrote, put down as they come.
pub struct Spool {
    folder: PathBuf,
    file: File,
    written: u64,
    /// By bucket: where the chunks begin, and how many bytes they have.
    chunks: Vec<Vec<(u64, usize)>>,
}

impl Spool {
    /// An empty one in `folder`, which must exist.
    ///
    /// # Errors
    /// A folder that cannot be written.
    pub fn new(folder: &Path) -> Result<Self, StoreError> {
        let file = tempfile::tempfile_in(folder).map_err(StoreError::io(folder, "write"))?;
        Ok(Self { folder: folder.to_path_buf(), file, written: 0, chunks: Vec::new() })
    }

    /// Adds a chunk of whole records to a bucket.
    ///
    /// # Errors
    /// A full disk.
    pub fn push(&mut self, bucket: usize, bytes: &[u8]) -> Result<(), StoreError> {
        if self.chunks.len() <= bucket {
            self.chunks.resize(bucket + 1, Vec::new());
        }
        self.file.write_all(bytes).map_err(StoreError::io(&self.folder, "write"))?;
        self.chunks[bucket].push((self.written, bytes.len()));
        self.written += bytes.len() as u64;
        Ok(())
    }

    /// Every chunk with its bucket, as it was put down.
    ///
    /// # Errors
    /// A disk that cannot be read, or what the caller makes of it.
    pub fn each<E: From<StoreError>>(
        mut self,
        each: &mut impl FnMut(usize, &[u8]) -> Result<(), E>,
    ) -> Result<(), E> {
        let mut bytes = Vec::new();
        for (bucket, chunks) in self.chunks.iter().enumerate() {
            for (offset, length) in chunks {
                bytes.resize(*length, 0);
                let sought = self.file.seek(SeekFrom::Start(*offset));
                let read = sought.and_then(|_| self.file.read_exact(&mut bytes));
                read.map_err(StoreError::io(&self.folder, "read"))?;
                each(bucket, &bytes)?;
            }
        }
        Ok(())
    }

    /// Ends the writing; none where a chunk does not hold whole records.
    pub fn finish<T: Pod>(self) -> Option<Buckets<T>> {
        let width = size_of::<T>().max(1);
        let stretch = |(offset, bytes): (u64, usize)| {
            (bytes % width == 0).then_some(Stretch::Written { offset, count: bytes / width })
        };
        let bucket = |chunks: Vec<(u64, usize)>| chunks.into_iter().map(stretch).collect();
        let stretches: Option<Vec<Vec<Stretch<T>>>> = self.chunks.into_iter().map(bucket).collect();
        let file = SpillFile { file: Some(Mutex::new(self.file)), stretches: stretches? };
        Some(Buckets { folder: self.folder, files: vec![file] })
    }
}

/// What one writer left.
struct SpillFile<T> {
    /// Reading moves the file's position, so one reader at a time; sorting a bucket takes far longer. None where all is
    /// in memory.
    file: Option<Mutex<File>>,
    stretches: Vec<Vec<Stretch<T>>>,
}

/// Reader: the buckets of one or several writers. Memory and disk space are given back on drop.
pub struct Buckets<T> {
    folder: PathBuf,
    files: Vec<SpillFile<T>>,
}

impl<T> Default for Buckets<T> {
    /// No buckets.
    fn default() -> Buckets<T> {
        Buckets { folder: PathBuf::new(), files: Vec::new() }
    }
}

impl<T: Pod> Buckets<T> {
    /// The buckets of several writers, all with the same number of buckets; none gives no buckets.
    pub fn join(all: impl IntoIterator<Item = Buckets<T>>) -> Buckets<T> {
        let mut joined = Buckets::default();
        for buckets in all {
            joined.folder = buckets.folder;
            joined.files.extend(buckets.files);
        }
        joined
    }

    /// Number of buckets.
    pub fn count(&self) -> usize {
        self.files.iter().map(|file| file.stretches.len()).max().unwrap_or(0)
    }

    /// Records in a bucket.
    pub fn len(&self, bucket: usize) -> usize {
        let stretches = self.files.iter().filter_map(|file| file.stretches.get(bucket));
        stretches.flatten().map(Stretch::count).sum()
    }

    /// Whether a bucket has no records.
    pub fn is_empty(&self, bucket: usize) -> bool {
        self.len(bucket) == 0
    }

    /// The records of a bucket in the order of writing, some of them at a time: at most so many, or as many as one
    /// writer put down at once.
    ///
    /// # Errors
    /// A disk that cannot be read, or what the caller makes of it.
    pub fn chunks<E: From<StoreError>>(
        &self,
        bucket: usize,
        most: usize,
        mut each: impl FnMut(&[T]) -> Result<(), E>,
    ) -> Result<(), E> {
        let mut records: Vec<T> = Vec::new();
        for file in &self.files {
            for stretch in file.stretches.get(bucket).into_iter().flatten() {
                if !records.is_empty() && records.len() + stretch.count() > most {
                    each(&records)?;
                    records.clear();
                }
                let before = records.len();
                records.resize(before + stretch.count(), T::zeroed());
                let into = &mut records[before..];
                file.fill(std::slice::from_ref(stretch), into)
                    .map_err(StoreError::io(&self.folder, "read"))?;
            }
        }
        if records.is_empty() { Ok(()) } else { each(&records) }
    }

    /// All records of a bucket in the order of writing.
    ///
    /// # Errors
    /// A disk that cannot be read.
    pub fn read(&self, bucket: usize) -> Result<Vec<T>, StoreError> {
        self.read_with_room(bucket, 1)
    }

    /// The same, with room for so many times as many.
    ///
    /// # Errors
    /// A disk that cannot be read.
    pub fn read_with_room(&self, bucket: usize, times: usize) -> Result<Vec<T>, StoreError> {
        let mut records = Vec::with_capacity(times * self.len(bucket));
        records.resize(self.len(bucket), T::zeroed());
        let mut rest = records.as_mut_slice();
        for file in &self.files {
            let stretches = file.stretches.get(bucket).map_or(&[][..], Vec::as_slice);
            let (mine, others) = rest.split_at_mut(stretches.iter().map(Stretch::count).sum());
            file.fill(stretches, mine).map_err(StoreError::io(&self.folder, "read"))?;
            rest = others;
        }
        Ok(records)
    }
}

impl<T: Pod> SpillFile<T> {
    fn fill(&self, stretches: &[Stretch<T>], mut into: &mut [T]) -> io::Result<()> {
        // A reader that panicked leaves a position, nothing worse, and the position is set anew.
        let lock = self.file.as_ref().map(Mutex::lock);
        let mut file = lock.map(|file| file.unwrap_or_else(PoisonError::into_inner));
        for stretch in stretches {
            let (here, rest) = into.split_at_mut(stretch.count());
            into = rest;
            match (stretch, &mut file) {
                (Stretch::Held(records), _) => here.copy_from_slice(records),
                (Stretch::Written { offset, .. }, Some(file)) => {
                    file.seek(SeekFrom::Start(*offset))?;
                    file.read_exact(bytemuck::cast_slice_mut(here))?;
                }
                (Stretch::Written { .. }, None) => return Err(io::ErrorKind::NotFound.into()),
            }
        }
        Ok(())
    }
}
