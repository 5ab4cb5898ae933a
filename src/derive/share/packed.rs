//! Rows of no fixed size in buckets, packed on disk.

use std::marker::PhantomData;
use std::path::Path;

use serde::Serialize;
use serde::de::DeserializeOwned;

use super::input::Input;
use super::output::Output;
use super::stage::Kind;
use super::states::{PACKED_ROWS, packed, unpacked};
use crate::derive::DeriveError;
use crate::store::{Buckets, Spool};

/// Rows of all buckets that a writer keeps back.
const KEPT_ROWS: usize = 1 << 14;

/// Writer of such rows.
pub struct PackedSpill<T> {
    spool: Spool,
    kept: usize,
    buckets: Vec<Vec<T>>,
}

impl<T: Serialize> PackedSpill<T> {
    /// Of so many buckets, in `folder`.
    ///
    /// # Errors
    /// A full disk.
    pub fn new(folder: &Path, buckets: usize) -> Result<PackedSpill<T>, DeriveError> {
        let buckets = (0..buckets).map(|_| Vec::new()).collect();
        Ok(PackedSpill { spool: Spool::new(folder)?, kept: 0, buckets })
    }

    /// Adds a row to a bucket.
    ///
    /// # Errors
    /// A full disk.
    pub fn push(&mut self, bucket: usize, row: T) -> Result<(), DeriveError> {
        self.buckets[bucket].push(row);
        self.kept += 1;
        if self.buckets[bucket].len() >= PACKED_ROWS {
            return self.flush(bucket);
        }
        if self.kept >= KEPT_ROWS { self.flush_all() } else { Ok(()) }
    }

    fn flush(&mut self, bucket: usize) -> Result<(), DeriveError> {
        let rows = &mut self.buckets[bucket];
        if !rows.is_empty() {
            self.spool.push(bucket, &packed(rows)?)?;
            self.kept -= rows.len();
            rows.clear();
        }
        Ok(())
    }

    fn flush_all(&mut self) -> Result<(), DeriveError> {
        (0..self.buckets.len()).try_for_each(|bucket| self.flush(bucket))
    }

    /// Ends the writing.
    ///
    /// # Errors
    /// A full disk.
    pub fn finish(mut self) -> Result<Packed<T>, DeriveError> {
        self.flush_all()?;
        Ok(Packed { writers: self.spool.finish().into_iter().collect(), of: PhantomData })
    }
}

/// Such rows, by writer: every stretch of bytes holds some of them.
pub struct Packed<T> {
    writers: Vec<Buckets<u8>>,
    of: PhantomData<T>,
}

impl<T> Default for Packed<T> {
    fn default() -> Packed<T> {
        Packed { writers: Vec::new(), of: PhantomData }
    }
}

impl<T: DeserializeOwned> Packed<T> {
    /// Those of a kind that a worker was handed.
    ///
    /// # Errors
    /// What cannot be read.
    pub fn handed(input: &Input, kind: Kind) -> Result<Packed<T>, DeriveError> {
        Ok(Packed { writers: vec![input.take(kind)?], of: PhantomData })
    }

    /// Hands them on.
    ///
    /// # Errors
    /// What cannot be read or written.
    pub fn hand_on(&self, output: &mut Output, kind: Kind) -> Result<(), DeriveError> {
        for writer in &self.writers {
            for bucket in 0..writer.count() {
                writer.chunks(bucket, 0, |bytes| output.chunk(kind, bucket, bytes))?;
            }
        }
        Ok(())
    }

    /// Number of buckets.
    pub fn count(&self) -> usize {
        self.writers.iter().map(Buckets::count).max().unwrap_or(0)
    }

    /// Adds those of another writer.
    pub fn append(&mut self, other: Packed<T>) {
        self.writers.extend(other.writers);
    }

    /// Every row of a bucket.
    ///
    /// # Errors
    /// A disk that cannot be read, bytes that are no such rows, and whatever `each` makes of a row.
    pub fn each(
        &self,
        bucket: usize,
        mut each: impl FnMut(T) -> Result<(), DeriveError>,
    ) -> Result<(), DeriveError> {
        for writer in &self.writers {
            writer.chunks(bucket, 0, |bytes| {
                unpacked::<Vec<T>>(bytes)?.into_iter().try_for_each(&mut each)
            })?;
        }
        Ok(())
    }
}
