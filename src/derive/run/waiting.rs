//! Visits that wait for the tickets: at hand on one machine, packed on disk where they are handed on.

use std::path::Path;

use crate::derive::DeriveError;
use crate::derive::face::visit::Visit;
use crate::derive::share::input::Input;
use crate::derive::share::output::Output;
use crate::derive::share::stage::Kind;
use crate::derive::share::states::{PACKED_ROWS, packed, unpacked};
use crate::derive::share::work::Spilled;
use crate::store::{Buckets, Spool};

/// Visits that wait.
#[derive(Default)]
pub struct Waiting {
    here: Vec<Visit>,
    /// By writer: every stretch holds some, packed.
    packed: Vec<Buckets<u8>>,
}

/// Writer of visits that wait.
pub struct WaitingSpill {
    here: Vec<Visit>,
    /// Where they go to that are not kept here.
    spool: Option<Spool>,
}

impl WaitingSpill {
    /// One that keeps them here, or on disk in `folder`.
    ///
    /// # Errors
    /// A full disk.
    pub fn new(folder: Option<&Path>) -> Result<WaitingSpill, DeriveError> {
        Ok(WaitingSpill { here: Vec::new(), spool: folder.map(Spool::new).transpose()? })
    }

    /// Adds one.
    ///
    /// # Errors
    /// A full disk.
    pub fn push(&mut self, visit: Visit) -> Result<(), DeriveError> {
        self.here.push(visit);
        if self.here.len() >= PACKED_ROWS { self.flush() } else { Ok(()) }
    }

    fn flush(&mut self) -> Result<(), DeriveError> {
        let Some(spool) = self.spool.as_mut().filter(|_| !self.here.is_empty()) else {
            return Ok(());
        };
        spool.push(0, &packed(&self.here)?)?;
        self.here.clear();
        Ok(())
    }

    /// Ends the writing.
    ///
    /// # Errors
    /// A full disk.
    pub fn finish(mut self) -> Result<Waiting, DeriveError> {
        self.flush()?;
        let packed = self.spool.and_then(Spool::finish);
        Ok(Waiting { here: self.here, packed: packed.into_iter().collect() })
    }
}

impl Waiting {
    /// Adds those of another writer.
    pub fn append(&mut self, other: Waiting) {
        self.here.extend(other.here);
        self.packed.extend(other.packed);
    }

    /// Every visit, once.
    ///
    /// # Errors
    /// A disk that cannot be read, bytes that are no visits, and whatever `each` makes of a visit.
    pub fn each(
        self,
        mut each: impl FnMut(Visit) -> Result<(), DeriveError>,
    ) -> Result<(), DeriveError> {
        self.here.into_iter().try_for_each(&mut each)?;
        for packed in self.packed {
            packed.chunks(0, 0, |bytes| {
                unpacked::<Vec<Visit>>(bytes)?.into_iter().try_for_each(&mut each)
            })?;
        }
        Ok(())
    }
}

impl Spilled for Waiting {
    fn handed(input: &Input) -> Result<Waiting, DeriveError> {
        Ok(Waiting { here: Vec::new(), packed: vec![input.take(Kind::Waiting)?] })
    }

    fn hand_on(&self, output: &mut Output) -> Result<(), DeriveError> {
        for packed in &self.packed {
            packed.chunks(0, 0, |bytes| output.chunk(Kind::Waiting, 0, bytes))?;
        }
        Ok(())
    }
}
