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
use crate::derive::share::envelope::CHUNK;
use crate::derive::share::input::Input;
use crate::derive::share::output::Output;
use crate::derive::share::stage::Kind;
use crate::derive::share::work::Spilled;
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

impl Spilled for VisitBuckets {
    fn handed(input: &Input) -> Result<VisitBuckets, DeriveError> {
        let wrong = |why: &str| DeriveError::Stream { why: format!("a chunk of visits {why}") };
        let (mut visits, mut cycles) = (input.spool()?, input.spool()?);
        input.chunks(Kind::Visits, |place, bytes| {
            let (count, rows) = bytes.split_first_chunk().ok_or_else(|| wrong("is cut short"))?;
            let count = u64::from_le_bytes(*count) as usize;
            let (own, rest) = count
                .checked_mul(size_of::<VisitFact>())
                .and_then(|length| rows.split_at_checked(length))
                .ok_or_else(|| wrong("has fewer visits than it says"))?;
            visits.push(place, own)?;
            Ok(cycles.push(place, rest)?)
        })?;
        let whole = || wrong("does not hold whole rows");
        let visits = vec![visits.finish().ok_or_else(whole)?];
        Ok(VisitBuckets { visits, cycles: vec![cycles.finish().ok_or_else(whole)?] })
    }

    /// A chunk holds the number of its visits in eight bytes, the visits, then the rows behind them: whoever else writes
    /// to the place and in whatever order chunks come, rows stay with their visits.
    fn hand_on(&self, output: &mut Output) -> Result<(), DeriveError> {
        for (visits, cycles) in self.visits.iter().zip(&self.cycles) {
            for place in 0..visits.count() {
                let cycles = cycles.read(place)?;
                let mut rest = cycles.as_slice();
                for own in visits.read(place)?.chunks(CHUNK / size_of::<VisitFact>()) {
                    let rows: usize = own.iter().map(VisitFact::rows).sum();
                    let (behind, after) = rest.split_at(rows.min(rest.len()));
                    rest = after;
                    let count = (own.len() as u64).to_le_bytes();
                    let (own, behind) = (bytemuck::cast_slice(own), bytemuck::cast_slice(behind));
                    output.chunk(Kind::Visits, place, &[&count, own, behind].concat())?;
                }
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
