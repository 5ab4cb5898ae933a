//! The small fixed-size rows that the passes sort: what happened to one end face, and the matings.

use bytemuck::{Pod, Zeroable};

use crate::derive::scan::key::Key;
use crate::records::{Finding, Outcome};

/// Stands for "never" where an end is not known.
pub const NEVER: i64 = i64::MAX;
/// Stands for "no mating".
pub const NO_MATING: u64 = u64::MAX;

/// Kinds of event, as `Event::kind`.
pub mod kind {
    /// The end face's row in the register.
    pub const REGISTER: u8 = 0;
    /// A cleaning.
    pub const CLEANING: u8 = 1;
    /// A look, readable or not.
    pub const LOOK: u8 = 2;
    /// A mating, seen from one of its ends.
    pub const MATING: u8 = 3;
    /// Made from its mating when a bucket is ordered; never written.
    pub const DEMATING: u8 = 4;
}

/// Bits of `Event::flags`.
pub mod flag {
    /// A disposition that takes the end face out of use.
    pub const REJECT: u8 = 1;
    /// The mating's second end.
    pub const END_B: u8 = 2;
    /// Whether a cap was on is known.
    pub const CAP_KNOWN: u8 = 4;
    /// A cap was on.
    pub const CAPPED: u8 = 8;
    /// A ticket names the mating, or one of its ends; as far as the scan can tell, which may say so of too many.
    pub const TOUCHED: u8 = 16;
}

/// One thing that happened to one end face. 112 bytes.
///
/// Codes are those of the fleet's lists; 0 means not given. `side`, `optic`, `outcome`, `finding` and
/// `zone` are places in their closed lists (`records`) plus 1.
#[derive(Clone, Copy, Debug, Default, PartialEq, Pod, Zeroable)]
#[repr(C)]
pub struct Event {
    /// The end face.
    pub key: Key,
    /// Time at which it counts in the order of events, microseconds UTC.
    pub at: i64,
    /// Number of the record in its export, where the export numbers them; else 0.
    pub seq: i64,
    /// First 16 bytes of the record id, so that comparing numbers compares the texts.
    pub record: [u64; 2],
    /// Hash of the record id, else of the content.
    pub identity: u64,
    /// Hash of the work order, 0 for none.
    pub work_order: u64,
    /// Mating: time of demating; register: end of service; else unused. [`NEVER`] if not known.
    pub ends: i64,
    /// Mating: its number among the fleet's matings; look: who looked and what it was judged by, see [`looked`].
    pub mating: u64,
    /// Code of the site.
    pub site: u32,
    /// Code of the connector family.
    pub family: u32,
    /// Code of who supplied the end face.
    pub supplier: u32,
    /// Look: instrument; cleaning: tool.
    pub device: u32,
    /// Look: hash of the fibre; cleaning: method.
    pub detail: u32,
    /// Place of its source by name.
    pub source: u16,
    /// Minutes of the day where only the day is known, else 0.
    pub day_minutes: u16,
    /// A [`kind`].
    pub kind: u8,
    /// Code of the stage.
    pub stage: u8,
    /// Side of the mating on which the end face is.
    pub side: u8,
    /// What is behind the opening.
    pub optic: u8,
    /// Look: what it said; see [`Event::outcome`].
    pub outcome: u8,
    /// Look: what failed it; see [`Event::finding`].
    pub finding: u8,
    /// Look: the innermost zone that failed it.
    pub zone: u8,
    /// Bits of [`flag`].
    pub flags: u8,
}

impl Event {
    /// Whether a flag is set.
    pub fn has(&self, flag: u8) -> bool {
        self.flags & flag != 0
    }

    /// What a look said; none where it is no look.
    pub fn outcome(&self) -> Option<Outcome> {
        given(Outcome::ALL, self.outcome)
    }

    /// Look: hash of who looked, 0 where not given.
    pub fn inspector(&self) -> u32 {
        (self.mating >> 32) as u32
    }

    /// Look: what it was judged by.
    pub fn standard(&self) -> Standard {
        Standard(self.mating as u32)
    }

    /// What failed it, `Unknown` where the source did not say (R5).
    pub fn finding(&self) -> Finding {
        given(Finding::ALL, self.finding).unwrap_or(Finding::Unknown)
    }
}

/// Criteria and grading of a look, packed: 30 bits of the criteria's code, 2 of the grading's place in
/// `records::Grading` plus 1. Zero where neither is given.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Standard(pub u32);

impl Standard {
    /// Of a code of criteria and a grading. A code beyond 30 bits, more words than memory holds, reads as not given.
    pub fn of(criteria: u32, grading: u8) -> Standard {
        let criteria = if criteria < 1 << 30 { criteria } else { 0 };
        Standard(criteria << 2 | u32::from(grading & 3))
    }

    /// Code of the criteria, 0 where not given.
    pub fn criteria(self) -> u32 {
        self.0 >> 2
    }

    /// Place in `records::Grading` plus 1, 0 where not given.
    pub fn grading(self) -> u8 {
        (self.0 & 3) as u8
    }
}

/// What a look carries in [`Event::mating`]: hash of who looked, and what it was judged by.
pub fn looked(inspector: u32, standard: Standard) -> u64 {
    u64::from(inspector) << 32 | u64::from(standard.0)
}

/// The word of a closed list that a code, its place plus 1, stands for; none for 0.
pub fn given<T: Copy>(list: &[T], code: u8) -> Option<T> {
    list.get(usize::from(code).checked_sub(1)?).copied()
}

/// What is known of one mating apart from its ends. 80 bytes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Pod, Zeroable)]
#[repr(C)]
pub struct MatingRow {
    /// Its number among the fleet's matings.
    pub number: u64,
    /// Time at which it counts, microseconds UTC.
    pub at: i64,
    /// [`NEVER`] if not recorded.
    pub demated: i64,
    /// Where the window of C1 begins.
    pub window_start: i64,
    /// [`Key::NONE`] where not identified.
    pub ends: [Key; 2],
    /// Code of the site.
    pub site: u32,
    /// Place of its source by name.
    pub source: u16,
    /// Code of the stage.
    pub stage: u8,
    /// 1 where the mating is known to the day only.
    pub day_only: u8,
    /// Half of the work order's hash, 0 for none: only told apart from others.
    pub work_order: u32,
    /// Pseudonym of who made it, 0 where not given.
    pub operator: u32,
}

/// What became of an end after its mating, as `Half::later` (4.5): the first that came.
pub mod later {
    /// Nothing that was recorded, or another mating.
    pub const NOTHING: u8 = 0;
    /// A look passed.
    pub const PASSED: u8 = 1;
    /// A look failed for contamination.
    pub const CONTAMINATED: u8 = 2;
    /// A look failed for a defect.
    pub const DEFECTIVE: u8 = 3;
    /// Failed, and nobody wrote why.
    pub const UNCLEAR: u8 = 4;
    /// Cleaned, nobody having looked.
    pub const CLEANED: u8 = 5;
}

/// What pass one knows of one end of a mating. 72 bytes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Pod, Zeroable)]
#[repr(C)]
pub struct Half {
    /// The mating's number.
    pub mating: u64,
    /// Time of the next mating of this end face, microseconds UTC; [`NEVER`] for none.
    pub next_at: i64,
    /// Number of that mating; [`NO_MATING`] for none.
    pub next: u64,
    /// End of service of this end face.
    pub in_service_to: i64,
    /// Code of the connector family.
    pub family: u32,
    /// Code of who supplied the end face.
    pub supplier: u32,
    /// What is behind the opening.
    pub optic: u8,
    /// Side of the mating on which the end face is.
    pub side: u8,
    /// A [`super::end_state`] code.
    pub state: u8,
    /// 0 for end a, 1 for end b.
    pub end: u8,
    /// The same as `state` under each of the windows of [`super::end_state::WINDOWS_HOURS`].
    pub states: [u8; 3],
    /// A [`later`] code: what came next, before the period's end.
    pub later: u8,
    /// Time of the last cleaning between this mating and the next, before the period's end;
    /// [`NEVER`] for none.
    pub cleaned: i64,
    /// Tool of the last cleaning before the mating, 0 where not known.
    pub tool: u32,
    /// [`Standard`] of the look that the state rests on.
    pub standard: u32,
}
