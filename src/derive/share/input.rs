//! What a worker was handed: rows, bucket by bucket, on its own disk.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

use bytemuck::Pod;

use super::envelope::Chunk;
use super::stage::Kind;
use crate::derive::DeriveError;
use crate::store::{Buckets, Spool};

/// Buckets beyond this are no buckets of ours.
const MOST_PLACES: u32 = 1 << 20;

/// Rows that a worker was handed.
pub struct Input {
    folder: PathBuf,
    rows: Mutex<BTreeMap<Kind, Spool>>,
}

impl Input {
    /// Nothing yet; rows will lie in `folder`.
    pub fn new(folder: &Path) -> Input {
        Input { folder: folder.to_path_buf(), rows: Mutex::default() }
    }

    /// Puts a chunk of rows down.
    ///
    /// # Errors
    /// A full disk; a place that is none.
    pub fn push(&self, chunk: Chunk) -> Result<(), DeriveError> {
        if chunk.place >= MOST_PLACES {
            let why = format!("found the place {} of {}", chunk.place, chunk.kind.word());
            return Err(DeriveError::Stream { why });
        }
        let mut rows = self.rows.lock().map_err(|_| DeriveError::Thread)?;
        let spool = match rows.entry(chunk.kind) {
            Entry::Occupied(known) => known.into_mut(),
            Entry::Vacant(empty) => empty.insert(Spool::new(&self.folder)?),
        };
        Ok(spool.push(chunk.place as usize, chunk.bytes)?)
    }

    /// Room for rows on the worker's disk.
    ///
    /// # Errors
    /// A folder that cannot be written.
    pub fn spool(&self) -> Result<Spool, DeriveError> {
        Ok(Spool::new(&self.folder)?)
    }

    /// The chunks of a kind with their places, once.
    ///
    /// # Errors
    /// A disk that cannot be read, and whatever `each` makes of a chunk.
    pub fn chunks(
        &self,
        kind: Kind,
        mut each: impl FnMut(usize, &[u8]) -> Result<(), DeriveError>,
    ) -> Result<(), DeriveError> {
        let spool = self.rows.lock().map_err(|_| DeriveError::Thread)?.remove(&kind);
        spool.map_or(Ok(()), |spool| spool.each(&mut each))
    }

    /// The rows of a kind, once; no buckets where none were handed out.
    ///
    /// # Errors
    /// Chunks that do not hold whole rows.
    pub fn take<T: Pod>(&self, kind: Kind) -> Result<Buckets<T>, DeriveError> {
        let mut rows = self.rows.lock().map_err(|_| DeriveError::Thread)?;
        let Some(spool) = rows.remove(&kind) else { return Ok(Buckets::default()) };
        spool.finish().ok_or_else(|| DeriveError::Stream {
            why: format!("a chunk of {} does not hold whole rows", kind.word()),
        })
    }
}
