//! Facts on their way to the count.

use std::path::Path;
use std::sync::Arc;

use super::look::{CycleFact, VisitFact};
use super::mating::MatingFact;
use super::place::Places;
use super::touch::TouchFact;
use crate::derive::DeriveError;
use crate::derive::face::visit::Visit;
use crate::derive::mating::describe::Mating;
use crate::store::{Buckets, Spill};

/// Writer of visits.
pub struct VisitSpill {
    places: Arc<Places>,
    visits: Spill<VisitFact>,
    cycles: Spill<CycleFact>,
}

impl VisitSpill {
    /// An empty one.
    ///
    /// # Errors
    /// A full disk.
    pub fn new(folder: &Path, places: &Arc<Places>) -> Result<VisitSpill, DeriveError> {
        let count = places.count();
        let (visits, cycles) = (Spill::new(folder, count)?, Spill::new(folder, count)?);
        Ok(VisitSpill { places: Arc::clone(places), visits, cycles })
    }

    /// Writes a visit.
    ///
    /// # Errors
    /// A full disk.
    pub fn push(&mut self, visit: &Visit) -> Result<(), DeriveError> {
        let bucket = self.places.bucket(visit.site, visit.start);
        self.visits.push(bucket, &VisitFact::of(visit))?;
        for cycle in CycleFact::of(visit) {
            self.cycles.push(bucket, &cycle)?;
        }
        Ok(())
    }

    /// Closes it.
    ///
    /// # Errors
    /// A full disk.
    pub fn finish(self) -> Result<VisitBuckets, DeriveError> {
        Ok(VisitBuckets {
            visits: vec![self.visits.finish()?],
            cycles: vec![self.cycles.finish()?],
        })
    }
}

/// Visits as they were written, writer by writer.
#[derive(Default)]
pub struct VisitBuckets {
    visits: Vec<Buckets<VisitFact>>,
    cycles: Vec<Buckets<CycleFact>>,
}

impl VisitBuckets {
    /// Adds those of another writer.
    pub fn append(&mut self, other: VisitBuckets) {
        self.visits.extend(other.visits);
        self.cycles.extend(other.cycles);
    }

    /// Every visit of a bucket.
    ///
    /// # Errors
    /// A damaged disk.
    pub fn read(
        &self,
        bucket: usize,
        visit: &mut Visit,
        mut each: impl FnMut(&Visit),
    ) -> Result<(), DeriveError> {
        // Rows of a visit come in the order of the visits, writer by writer.
        for (visits, cycles) in self.visits.iter().zip(&self.cycles) {
            let cycles = cycles.read(bucket)?;
            let mut rows = cycles.as_slice();
            for fact in visits.read(bucket)? {
                rows = fact.read(rows, visit);
                each(visit);
            }
        }
        Ok(())
    }
}

/// Writer of matings.
pub struct MatingSpill {
    places: Arc<Places>,
    matings: Spill<MatingFact>,
    touches: Spill<TouchFact>,
}

/// Matings and touches as they were written.
pub type MatingBuckets = (Buckets<MatingFact>, Buckets<TouchFact>);

impl MatingSpill {
    /// An empty one.
    ///
    /// # Errors
    /// A full disk.
    pub fn new(folder: &Path, places: &Arc<Places>) -> Result<MatingSpill, DeriveError> {
        let count = places.count();
        let (matings, touches) = (Spill::new(folder, count)?, Spill::new(folder, count)?);
        Ok(MatingSpill { places: Arc::clone(places), matings, touches })
    }

    /// Writes a mating.
    ///
    /// # Errors
    /// A full disk.
    pub fn push(&mut self, mating: &Mating) -> Result<(), DeriveError> {
        let bucket = self.places.bucket(mating.site, mating.at);
        Ok(self.matings.push(bucket, &MatingFact::of(mating))?)
    }

    /// Writes a touch.
    ///
    /// # Errors
    /// A full disk.
    pub fn push_touch(&mut self, touch: &TouchFact) -> Result<(), DeriveError> {
        let bucket = self.places.bucket(touch.cell.site, touch.at);
        Ok(self.touches.push(bucket, touch)?)
    }

    /// Closes it.
    ///
    /// # Errors
    /// A full disk.
    pub fn finish(self) -> Result<MatingBuckets, DeriveError> {
        Ok((self.matings.finish()?, self.touches.finish()?))
    }
}
