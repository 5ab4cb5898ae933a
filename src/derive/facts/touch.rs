//! A clean end that was mated and looked at afterwards, as a row: a trial of who made the mating and of the
//! other end (5.7).

use bytemuck::{Pod, Zeroable};

use crate::derive::carriers::trial::{FaceTrial, TrialCell};
use crate::derive::mating::exposure::Exposure;

/// All that is counted of it. 40 bytes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Pod, Zeroable)]
#[repr(C)]
pub struct TouchFact {
    /// When the mating was made, microseconds UTC.
    pub at: i64,
    /// Its work order within its site, else its site and day.
    pub order: u64,
    /// Where the trial counts.
    pub cell: TrialCell,
    /// Pseudonym of who made the mating, 0 where not given.
    pub operator: u32,
    /// 1 where the end came out dirty.
    pub dirty: u8,
    /// 1 where the other end is identified.
    pub other: u8,
    /// Always 0: rows are written as bytes.
    pub padding: [u8; 2],
}

impl FaceTrial {
    /// The trial of the other end.
    pub fn of(exposure: &Exposure, touch: &TouchFact) -> FaceTrial {
        FaceTrial {
            face: exposure.other,
            partner: exposure.partner,
            cell: touch.cell,
            dirty: touch.dirty,
            ..FaceTrial::default()
        }
    }
}
