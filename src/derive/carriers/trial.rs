//! What may carry dirt is tried by what it touched (5.7): the trials, as small rows that the passes
//! spill, and the cells in which they are compared.

use bytemuck::{Pod, Zeroable};

use crate::derive::scan::key::Key;

/// What is tested, each kind a family of tests of its own.
pub const CARRIER_KINDS: [&str; 6] =
    ["end-face", "operator", "supplier", "instrument", "tool-cleaning", "tool-soiling"];

/// Places in [`CARRIER_KINDS`].
pub mod carrier {
    pub const END_FACE: u8 = 0;
    pub const OPERATOR: u8 = 1;
    pub const SUPPLIER: u8 = 2;
    pub const INSTRUMENT: u8 = 3;
    /// A tool by the contamination that its cycles left.
    pub const TOOL_CLEANING: u8 = 4;
    /// A tool by the clean end faces that its cycles left dirty.
    pub const TOOL_SOILING: u8 = 5;
}

/// Trials of one cell are alike but for who made them. 16 bytes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Pod, Zeroable)]
#[repr(C)]
pub struct TrialCell {
    pub site: u32,
    pub family: u32,
    /// Of cycles only.
    pub method: u32,
    pub stage: u8,
    pub side: u8,
    /// Number of the cycle in its visit, 0 where nobody had looked before it; of cycles only.
    pub cycle: u8,
    pub padding: u8,
}

impl TrialCell {
    /// The cell as the count tables have it: kind, stage, family, side, site, method, cycle.
    pub fn of_kind(&self, kind: u8) -> [u32; 7] {
        let (stage, side, cycle) = (self.stage.into(), self.side.into(), self.cycle.into());
        [kind.into(), stage, self.family, side, self.site, self.method, cycle]
    }

    /// The kind and the cell of a count table's cell.
    pub fn and_kind(cell: [u32; 7]) -> (u8, TrialCell) {
        let [kind, stage, family, side, site, method, cycle] = cell;
        let (stage, side, cycle) = (stage as u8, side as u8, cycle as u8);
        (kind as u8, TrialCell { site, family, method, stage, side, cycle, padding: 0 })
    }
}

/// A trial in the bucket of its work order. 32 bytes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Pod, Zeroable)]
#[repr(C)]
pub struct OrderTrial {
    /// Its work order within its site, else its site and day.
    pub order: u64,
    pub cell: TrialCell,
    /// Kinds that it is a trial of, a bit each.
    pub kinds: u8,
    /// 1 where the result is dirty.
    pub dirty: u8,
    pub padding: [u8; 6],
}

/// A trial of an end face, in its bucket. 56 bytes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Pod, Zeroable)]
#[repr(C)]
pub struct FaceTrial {
    /// The end face that may carry dirt.
    pub face: Key,
    /// The end that it touched, and that was looked at.
    pub partner: Key,
    pub cell: TrialCell,
    /// 1 where the result is dirty.
    pub dirty: u8,
    pub padding: [u8; 7],
}

/// The cluster of a trial: its work order within its site, else its site and day.
pub fn cluster(site: u32, order: u32, day: impl Fn() -> Option<u32>) -> u64 {
    let (flag, low) = if order == 0 { (0, day().unwrap_or(0)) } else { (1 << 63, order) };
    flag | u64::from(site) << 32 | u64::from(low)
}
