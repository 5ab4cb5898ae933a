//! Faults as rows, for those who describe or count matings and have no tickets.

use bytemuck::{Pod, Zeroable};

use super::bits;
use crate::derive::DeriveError;
use crate::derive::mating::fault::{Fault, Faults, How};
use crate::derive::mating::lists::Lists;
use crate::derive::mating::price::{Bill, Stated};
use crate::records::Level;
use crate::store::Spill;

/// Stands for "none" among minutes and seconds.
const NONE: i64 = i64::MIN;
/// Rows under the windows of the rules.
pub const RULED: u8 = 0;

/// Bits of `FaultRow::flags`.
mod flag {
    pub(super) const CONTROL: u8 = 1;
    pub(super) const OPEN: u8 = 2;
    pub(super) const INSIDE: u8 = 4;
    pub(super) const COST: u8 = 8;
    /// Three parts of a price, from here on.
    pub(super) const PART: u8 = 16;
    /// Nothing: the mating has no fault under these windows.
    pub(super) const NOTHING: u8 = 128;
}

/// A fault with one of its bills. 120 bytes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Pod, Zeroable)]
#[repr(C)]
pub struct FaultRow {
    /// Number of its mating.
    pub mating: u64,
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
    pub under: u8,
    padding: [u8; 7],
}

impl FaultRow {
    /// One row a bill; a fault has at least one.
    fn of(fault: &Fault, order: usize, under: u8) -> impl Iterator<Item = FaultRow> {
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
            flags: bits([
                (fault.control, flag::CONTROL),
                (fault.open, flag::OPEN),
                (fault.inside, flag::INSIDE),
            ]),
            under,
            ..FaultRow::default()
        };
        (0..).zip(&fault.bills).map(move |(bill, Bill { source, stated })| {
            let [first, second, third] = stated.parts.map(|part| part.is_some());
            FaultRow {
                bill,
                source: *source,
                cost: stated.cost.unwrap_or_default(),
                parts: stated.parts.map(Option::unwrap_or_default),
                flags: own.flags
                    | bits([
                        (stated.cost.is_some(), flag::COST),
                        (first, flag::PART),
                        (second, flag::PART << 1),
                        (third, flag::PART << 2),
                    ]),
                ..own
            }
        })
    }

    /// That a mating has no fault under these windows.
    pub fn nothing(mating: u64, under: u8) -> FaultRow {
        FaultRow { mating, under, flags: flag::NOTHING, ..FaultRow::default() }
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
    ///
    /// # Errors
    /// A code that is none.
    pub fn faults(rows: &mut [FaultRow]) -> Result<Vec<Fault>, DeriveError> {
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

/// Writes the faults of a mating under some windows to a bucket.
///
/// # Errors
/// A full disk.
pub fn spill_faults(
    (faults, under): (&[Fault], u8),
    bucket: usize,
    spill: &mut Spill<FaultRow>,
) -> Result<(), DeriveError> {
    let mut rows = (0..).zip(faults).flat_map(|(order, fault)| FaultRow::of(fault, order, under));
    Ok(rows.try_for_each(|row| spill.push(bucket, &row))?)
}

/// Faults that were so written, without when they count on end faces.
///
/// # Errors
/// A code that is none.
pub fn faults_of(mut rows: Vec<FaultRow>) -> Result<Faults, DeriveError> {
    Ok(Faults::of_matings(FaultRow::faults(&mut rows)?, Lists::default()))
}
