//! Faults on their way to the matings that they touch, where those who describe matings have no tickets: as rows of fixed
//! size in the bucket of the mating, under the windows of the rules and, where they differ, under the other ones.

use std::path::Path;

use bytemuck::{Pod, Zeroable};
use rustc_hash::FxHashSet;

use super::fault::Faults;
use super::lists::Lists;
use crate::derive::DeriveError;
use crate::derive::facts::fault::{FaultRow, RULED, spill_faults};
use crate::derive::scan::key::Key;
use crate::derive::scan::spread::Spread;
use crate::settings::Rules;
use crate::store::{Buckets, Spill};

/// Bit of `FaceTimeRow::flags`: no fault counts on the end face shortly before.
const NOTHING: u8 = 128;

/// When a fault counts on an end face of a mating, and of which mating it is. 40 bytes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Pod, Zeroable)]
#[repr(C)]
pub struct FaceTimeRow {
    key: Key,
    at: i64,
    of: u64,
    under: u8,
    flags: u8,
    padding: [u8; 6],
}

/// A mating of an end face that tickets may touch. 32 bytes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Pod, Zeroable)]
#[repr(C)]
pub struct Asked {
    /// The end face.
    pub key: Key,
    /// The mating's number.
    pub mating: u64,
    /// When it was made, microseconds UTC.
    pub at: i64,
}

/// Writer of faults, in the bucket of the mating that they touch.
pub struct Handing {
    spread: Spread,
    faults: Spill<FaultRow>,
    times: Spill<FaceTimeRow>,
}

impl Handing {
    /// Writes nothing yet.
    ///
    /// # Errors
    /// A full disk.
    pub fn new(folder: &Path, spread: Spread) -> Result<Handing, DeriveError> {
        let count = spread.matings();
        let (faults, times) = (Spill::new(folder, count)?, Spill::new(folder, count)?);
        Ok(Handing { spread, faults, times })
    }

    /// The faults as the rules have them.
    ///
    /// # Errors
    /// A full disk.
    pub fn ruled(&mut self, faults: &Faults) -> Result<(), DeriveError> {
        for mating in faults.matings() {
            let bucket = self.spread.mating(mating);
            spill_faults((faults.of_mating(mating), RULED), bucket, &mut self.faults)?;
        }
        Ok(())
    }

    /// Those under other windows, of the matings that have others.
    ///
    /// # Errors
    /// A full disk.
    pub fn other(
        &mut self,
        place: usize,
        ruled: &Faults,
        other: &Faults,
    ) -> Result<(), DeriveError> {
        let under = under(place);
        let gone = ruled.matings().filter(|mating| other.near_mating(*mating).is_none());
        for mating in other.matings().chain(gone) {
            let (bucket, own) = (self.spread.mating(mating), other.of_mating(mating));
            if own == ruled.of_mating(mating) {
                continue;
            }
            if own.is_empty() {
                self.faults.push(bucket, &FaultRow::nothing(mating, under))?;
            }
            spill_faults((own, under), bucket, &mut self.faults)?;
        }
        Ok(())
    }

    /// What a mating asks of one of its end faces: whether a ticket touches it at all, and the last fault shortly before, if
    /// any, under the rules' windows, or under other ones where these have other faults on the end face. One row: an end
    /// face may have as many matings as faults.
    ///
    /// # Errors
    /// A full disk.
    pub fn asked(
        &mut self,
        asked: Asked,
        (ruled, rules): (&Faults, &Rules),
        other: Option<(usize, &Faults)>,
    ) -> Result<(), DeriveError> {
        let ruled = ruled.near_face(asked.key);
        let (times, under) = match other {
            None => (ruled, RULED),
            Some((place, other)) => (other.near_face(asked.key), under(place)),
        };
        if times.is_none() && ruled.is_none() || other.is_some() && times == ruled {
            return Ok(());
        }
        let last =
            times.and_then(|times| Faults::last_before(times, asked.mating, asked.at, rules));
        let (at, of) = last.unwrap_or_default();
        let row = FaceTimeRow {
            key: asked.key,
            at,
            of,
            under,
            flags: if last.is_none() { NOTHING } else { 0 },
            ..FaceTimeRow::default()
        };
        Ok(self.times.push(self.spread.mating(asked.mating), &row)?)
    }

    /// Ends the writing.
    ///
    /// # Errors
    /// A full disk.
    pub fn finish(self) -> Result<HandedFaults, DeriveError> {
        Ok(HandedFaults { faults: self.faults.finish()?, times: self.times.finish()? })
    }
}

/// How rows are marked that are under other windows.
fn under(place: usize) -> u8 {
    place as u8 + 1
}

/// Faults that were handed on, by the bucket of the matings.
pub struct HandedFaults {
    /// Of matings.
    pub faults: Buckets<FaultRow>,
    /// Of end faces.
    pub times: Buckets<FaceTimeRow>,
}

impl HandedFaults {
    /// Faults of the matings of a bucket, and the same under each of the other windows, by their places.
    ///
    /// # Errors
    /// A disk that cannot be read, a code that is none.
    pub fn read(
        &self,
        bucket: usize,
        others: &[usize],
    ) -> Result<(Faults, Vec<Faults>), DeriveError> {
        let (rows, times) = (self.faults.read(bucket)?, self.times.read(bucket)?);
        let own = |at: u8| rows.iter().filter(move |row| row.under == at);
        let mut ruled: Vec<FaultRow> = own(RULED).copied().collect();
        let mut faults = Faults::of_matings(FaultRow::faults(&mut ruled)?, times_of(&times, RULED));
        let mut all = Vec::with_capacity(others.len());
        for place in others {
            let moved: FxHashSet<u64> = own(under(*place)).map(|row| row.mating).collect();
            let kept = ruled.iter().filter(|row| !moved.contains(&row.mating));
            let mut rows: Vec<FaultRow> = kept.chain(own(under(*place))).copied().collect();
            let other =
                Faults::of_matings(FaultRow::faults(&mut rows)?, times_of(&times, under(*place)));
            faults.also_near(&other);
            all.push(other);
        }
        Ok((faults, all))
    }
}

/// When faults count on end faces, as far as one of the bucket's matings was made shortly after; of an end face of which
/// nothing is said under another window, what the rules say.
fn times_of(rows: &[FaceTimeRow], under: u8) -> Lists<Key, (i64, u64)> {
    let own = || rows.iter().filter(|row| row.under == under);
    let said: FxHashSet<Key> = own().map(|row| row.key).collect();
    let ruled = rows.iter().filter(|row| row.under == RULED && !said.contains(&row.key));
    let all = || own().chain(ruled.clone());
    let some = all().filter(|row| row.flags & NOTHING == 0);
    let mut times = Lists::of(some.map(|row| (row.key, (row.at, row.of))).collect());
    all().for_each(|row| times.know(row.key));
    times
}
