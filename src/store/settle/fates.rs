//! What became of each record of a part: it stands, is a duplicate, is superseded, or is withdrawn.
//!
//! Two bits a record in memory and, under zstd, on disk. A list of row numbers would be smaller where
//! few are dropped, but exports that overlap drop most, and then it takes sixteen times the memory.

use std::fs;
use std::io::{Read, Write};
use std::path::Path;

use serde::{Deserialize, Serialize};

use crate::store::StoreError;
use crate::store::disk::durable::HashedFile;

/// Records in one byte.
const PER_BYTE: usize = 4;

/// What became of one record, from the weakest claim to its row: a row counts as the highest of its records.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(in crate::store) enum Fate {
    /// The same content stands elsewhere.
    Duplicate,
    /// A later export that holds everything leaves it out.
    Withdrawn,
    /// A later record took its place with other content.
    Superseded,
    /// It counts.
    Stands,
}

/// Records of a part that do not stand.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::store) struct Dropped {
    /// Saying what another record says.
    pub duplicate: u64,
    /// Replaced by a later record with other content.
    pub superseded: u64,
    /// Left out by a later export that holds everything.
    pub withdrawn: u64,
}

impl Dropped {
    /// All of them; none where they exceed 64 bits.
    pub fn total(&self) -> Option<u64> {
        self.duplicate.checked_add(self.superseded)?.checked_add(self.withdrawn)
    }
}

/// The fates of all records of a part, in their order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::store) struct Fates {
    /// Two bits a record, lowest first; 0 stands, so that a new list is all zero.
    bits: Vec<u8>,
}

impl Fates {
    /// All standing.
    pub fn standing(records: usize) -> Self {
        Self { bits: vec![0; records.div_ceil(PER_BYTE)] }
    }

    /// Fate of record `at`; a record beyond the end stands.
    pub fn get(&self, at: usize) -> Fate {
        let byte = self.bits.get(at / PER_BYTE).copied().unwrap_or(0);
        match byte >> (at % PER_BYTE * 2) & 3 {
            1 => Fate::Duplicate,
            2 => Fate::Superseded,
            3 => Fate::Withdrawn,
            _ => Fate::Stands,
        }
    }

    /// Drops record `at`, which must be standing. Beyond the end nothing happens.
    pub fn mark(&mut self, at: usize, fate: Fate) {
        let code = match fate {
            Fate::Stands => 0,
            Fate::Duplicate => 1,
            Fate::Superseded => 2,
            Fate::Withdrawn => 3,
        };
        if let Some(byte) = self.bits.get_mut(at / PER_BYTE) {
            *byte |= code << (at % PER_BYTE * 2);
        }
    }

    /// How many records of each fate do not stand.
    pub fn dropped(&self) -> Dropped {
        let mut dropped = Dropped::default();
        for byte in &self.bits {
            let (low, high) = (byte & 0b0101_0101, byte >> 1 & 0b0101_0101);
            dropped.duplicate += u64::from((low & !high).count_ones());
            dropped.superseded += u64::from((high & !low).count_ones());
            dropped.withdrawn += u64::from((low & high).count_ones());
        }
        dropped
    }

    /// Writes the list to `path`; gives the hash of the file.
    pub fn save(&self, path: &Path) -> Result<String, StoreError> {
        let mut file = HashedFile::create(path)?;
        let packed =
            zstd::encode_all(self.bits.as_slice(), 1).map_err(StoreError::io(path, "write"))?;
        file.write_all(&packed).map_err(StoreError::io(path, "write"))?;
        file.end().map(|(hash, _)| hash)
    }

    /// Reads the list of a part with so many records; the file must have this hash.
    pub fn load(path: &Path, hash: &str, records: u64) -> Result<Self, StoreError> {
        let damaged = |why: String| StoreError::damaged(path, why);
        let bytes = records.div_ceil(PER_BYTE as u64);
        let mut bits = Vec::new();
        let packed = fs::read(path).map_err(|error| damaged(error.to_string()))?;
        let found = blake3::hash(&packed).to_hex();
        if found.as_str() != hash {
            return Err(damaged(format!("BLAKE3: found {found}, expected {hash}")));
        }
        zstd::Decoder::new(packed.as_slice())
            // One byte more than expected is enough to see that there are too many.
            .and_then(|decoder| decoder.take(bytes + 1).read_to_end(&mut bits))
            .map_err(|error| damaged(error.to_string()))?;
        if bits.len() as u64 != bytes {
            return Err(damaged(format!("holds not {bytes} bytes of fates")));
        }
        Ok(Self { bits })
    }
}
