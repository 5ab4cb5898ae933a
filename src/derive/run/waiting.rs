//! Visits that wait for the tickets: at hand on one machine, packed on disk where they are handed on.

use std::path::Path;

use crate::derive::DeriveError;
use crate::derive::face::visit::Visit;
use crate::derive::share::input::Input;
use crate::derive::share::output::Output;
use crate::derive::share::packed::{Packed, PackedSpill};
use crate::derive::share::stage::Kind;
use crate::derive::share::work::Spilled;

/// Visits that wait.
#[derive(Default)]
pub struct Waiting {
    here: Vec<Visit>,
    packed: Packed<Visit>,
}

/// Writer of visits that wait.
pub struct WaitingSpill {
    here: Vec<Visit>,
    /// Where they go to that are not kept here.
    packed: Option<PackedSpill<Visit>>,
}

impl WaitingSpill {
    /// One that keeps them here, or on disk in `folder`.
    ///
    /// # Errors
    /// A full disk.
    pub fn new(folder: Option<&Path>) -> Result<WaitingSpill, DeriveError> {
        let packed = folder.map(|folder| PackedSpill::new(folder, 1)).transpose()?;
        Ok(WaitingSpill { here: Vec::new(), packed })
    }

    /// Adds one.
    ///
    /// # Errors
    /// A full disk.
    pub fn push(&mut self, visit: Visit) -> Result<(), DeriveError> {
        if let Some(packed) = &mut self.packed {
            return packed.push(0, visit);
        }
        self.here.push(visit);
        Ok(())
    }

    /// Ends the writing.
    ///
    /// # Errors
    /// A full disk.
    pub fn finish(self) -> Result<Waiting, DeriveError> {
        let packed = self.packed.map(PackedSpill::finish).transpose()?;
        Ok(Waiting { here: self.here, packed: packed.unwrap_or_default() })
    }
}

impl Waiting {
    /// Adds those of another writer.
    pub fn append(&mut self, other: Waiting) {
        self.here.extend(other.here);
        self.packed.append(other.packed);
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
        self.packed.each(0, each)
    }
}

impl Spilled for Waiting {
    fn handed(input: &Input) -> Result<Waiting, DeriveError> {
        Ok(Waiting { here: Vec::new(), packed: Packed::handed(input, Kind::Waiting)? })
    }

    fn hand_on(&self, output: &mut Output) -> Result<(), DeriveError> {
        self.packed.hand_on(output, Kind::Waiting)
    }
}
