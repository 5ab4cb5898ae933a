//! Faults on their way to the matings that they touch, where those who describe matings have no tickets: as rows of fixed
//! size in the bucket of the mating, under the windows of the rules and, where they differ, under the other ones.

use std::path::Path;

use bytemuck::{Pod, Zeroable};
use rustc_hash::{FxHashMap, FxHashSet};
use serde::{Deserialize, Serialize};

use super::fault::{Fault, Faults, How};
use super::price::{Bill, Stated};
use crate::derive::DeriveError;
use crate::derive::scan::key::Key;
use crate::derive::scan::spread::Spread;
use crate::records::Level;
use crate::settings::Rules;
use crate::store::{Buckets, Spill};

/// Stands for "none" among minutes and seconds.
const NONE: i64 = i64::MIN;
/// Rows under the windows of the rules.
const RULED: u8 = 0;

/// Bits of the rows' `flags`.
mod flag {
    pub(super) const CONTROL: u8 = 1;
    pub(super) const OPEN: u8 = 2;
    pub(super) const INSIDE: u8 = 4;
    pub(super) const COST: u8 = 8;
    /// Three parts of a price, from here on.
    pub(super) const PART: u8 = 16;
    /// Nothing: the mating has no fault under this window, the end face none shortly before.
    pub(super) const NOTHING: u8 = 128;
}

/// A fault with one of its bills. 120 bytes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Pod, Zeroable)]
#[repr(C)]
pub struct FaultRow {
    mating: u64,
    /// Place among the faults of its list, and of the bill among its own.
    order: u64,
    at: i64,
    last_at: i64,
    opened: i64,
    downtime_min: i64,
    restore_s: i64,
    cost: i64,
    parts: [i64; 3],
    bill: u32,
    cause: u32,
    site: u32,
    tickets: u32,
    source: u32,
    level: u8,
    how: u8,
    found_stage: u8,
    flags: u8,
    /// [`RULED`], else the place of the other windows and one.
    under: u8,
    padding: [u8; 7],
}

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

/// A mating of an end face that tickets may touch.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
pub struct Asked {
    /// The end face.
    pub key: Key,
    /// The mating's number.
    pub mating: u64,
    /// When it was made, microseconds UTC.
    pub at: i64,
}

impl FaultRow {
    /// One row a bill; a fault has at least one.
    fn of(fault: &Fault, order: usize, under: u8) -> impl Iterator<Item = FaultRow> {
        let flag_if = |is: bool, flag: u8| if is { flag } else { 0 };
        let own = FaultRow {
            mating: fault.mating,
            order: order as u64,
            at: fault.at,
            last_at: fault.last_at,
            opened: fault.opened,
            downtime_min: fault.downtime_min.unwrap_or(NONE),
            restore_s: fault.restore_s.unwrap_or(NONE),
            cause: fault.cause,
            site: fault.site,
            tickets: fault.tickets,
            level: fault.level as u8,
            how: fault.how as u8,
            found_stage: fault.found_stage,
            flags: flag_if(fault.control, flag::CONTROL)
                | flag_if(fault.open, flag::OPEN)
                | flag_if(fault.inside, flag::INSIDE),
            under,
            ..FaultRow::default()
        };
        (0..).zip(&fault.bills).map(move |(bill, Bill { source, stated })| FaultRow {
            bill,
            source: *source,
            cost: stated.cost.unwrap_or_default(),
            parts: stated.parts.map(Option::unwrap_or_default),
            flags: (0..).zip(&stated.parts).fold(
                own.flags | flag_if(stated.cost.is_some(), flag::COST),
                |flags, (part, money)| flags | flag_if(money.is_some(), flag::PART << part),
            ),
            ..own
        })
    }

    fn has(&self, flag: u8) -> bool {
        self.flags & flag != 0
    }

    fn bill(&self) -> Bill {
        let part = |part: usize| self.has(flag::PART << part).then_some(self.parts[part]);
        let cost = self.has(flag::COST).then_some(self.cost);
        Bill { source: self.source, stated: Stated { cost, parts: [0, 1, 2].map(part) } }
    }

    fn fault(&self) -> Result<Fault, DeriveError> {
        let given = |number: i64| Some(number).filter(|number| *number != NONE);
        let unknown = || DeriveError::Stream { why: "found a fault of an unknown code".into() };
        Ok(Fault {
            mating: self.mating,
            at: self.at,
            last_at: self.last_at,
            opened: self.opened,
            level: *Level::ALL.get(usize::from(self.level)).ok_or_else(unknown)?,
            cause: self.cause,
            control: self.has(flag::CONTROL),
            bills: vec![self.bill()],
            downtime_min: given(self.downtime_min),
            tickets: self.tickets,
            restore_s: given(self.restore_s),
            open: self.has(flag::OPEN),
            how: *How::ALL.get(usize::from(self.how)).ok_or_else(unknown)?,
            inside: self.has(flag::INSIDE),
            site: self.site,
            found_stage: self.found_stage,
        })
    }

    /// Faults again, of rows of one list.
    fn faults(rows: &mut [FaultRow]) -> Result<Vec<Fault>, DeriveError> {
        rows.sort_unstable_by_key(|row| (row.mating, row.order, row.bill));
        let mut faults: Vec<Fault> = Vec::new();
        for row in rows.iter().filter(|row| !row.has(flag::NOTHING)) {
            match faults.last_mut().filter(|_| row.bill > 0) {
                Some(fault) => fault.bills.push(row.bill()),
                None => faults.push(row.fault()?),
            }
        }
        Ok(faults)
    }
}

/// Writes the faults of a mating to a bucket.
///
/// # Errors
/// A full disk.
pub fn spill_faults(
    faults: &[Fault],
    bucket: usize,
    spill: &mut Spill<FaultRow>,
) -> Result<(), DeriveError> {
    let mut rows = (0..).zip(faults).flat_map(|(order, fault)| FaultRow::of(fault, order, RULED));
    Ok(rows.try_for_each(|row| spill.push(bucket, &row))?)
}

/// Faults that were so written.
///
/// # Errors
/// A code that is none.
pub fn faults_of(mut rows: Vec<FaultRow>) -> Result<Faults, DeriveError> {
    Ok(Faults::of_matings(FaultRow::faults(&mut rows)?, FxHashMap::default()))
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
            spill_faults(faults.of_mating(mating), bucket, &mut self.faults)?;
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
                let flags = flag::NOTHING;
                self.faults
                    .push(bucket, &FaultRow { mating, under, flags, ..FaultRow::default() })?;
            }
            for (order, fault) in own.iter().enumerate() {
                FaultRow::of(fault, order, under)
                    .try_for_each(|row| self.faults.push(bucket, &row))?;
            }
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
            flags: if last.is_none() { flag::NOTHING } else { 0 },
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
        let ruled_times = times_of(&times, RULED);
        let mut faults = Faults::of_matings(FaultRow::faults(&mut ruled)?, ruled_times.clone());
        let mut all = Vec::with_capacity(others.len());
        for place in others {
            let moved: FxHashSet<u64> = own(under(*place)).map(|row| row.mating).collect();
            let kept = ruled.iter().filter(|row| !moved.contains(&row.mating));
            let mut rows: Vec<FaultRow> = kept.chain(own(under(*place))).copied().collect();
            // Of an end face of which they say something they say all.
            let mut own_times = ruled_times.clone();
            own_times.extend(times_of(&times, under(*place)));
            let other = Faults::of_matings(FaultRow::faults(&mut rows)?, own_times);
            faults.also_near(&other);
            all.push(other);
        }
        Ok((faults, all))
    }
}

/// When faults count on end faces, rising, as far as one of the bucket's matings was made shortly after; empty where none was.
fn times_of(rows: &[FaceTimeRow], under: u8) -> FxHashMap<Key, Vec<(i64, u64)>> {
    let mut times: FxHashMap<Key, Vec<(i64, u64)>> = FxHashMap::default();
    for row in rows.iter().filter(|row| row.under == under) {
        let at_face = times.entry(row.key).or_default();
        if row.flags & flag::NOTHING == 0 {
            at_face.push((row.at, row.of));
        }
    }
    for at_face in times.values_mut() {
        at_face.sort_unstable();
        // Several matings of the bucket may have asked.
        at_face.dedup();
    }
    times
}
