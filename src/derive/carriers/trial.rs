//! What may carry dirt is tried by what it touched (5.7): the trials, as small rows that the passes
//! spill, and the cells in which they are compared.

use bytemuck::{Pod, Zeroable};
use serde::{Deserialize, Serialize};

use crate::derive::scan::key::Key;
use crate::records::code_list;

code_list! {
    /// What is tested, each kind a family of tests of its own.
    CarrierKind {
        EndFace = "end-face",
        Operator = "operator",
        Supplier = "supplier",
        Instrument = "instrument",
        /// A tool by the contamination that its cycles left.
        ToolCleaning = "tool-cleaning",
        /// A tool by the clean end faces that its cycles left dirty.
        ToolSoiling = "tool-soiling",
    }
}

/// Trials of one cell are alike but for who made them. 16 bytes.
#[derive(
    Clone,
    Copy,
    Debug,
    Default,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    Pod,
    Zeroable,
    Serialize,
    Deserialize,
)]
#[repr(C)]
pub struct TrialCell {
    /// Code of the site.
    pub site: u32,
    /// Code of the connector family.
    pub family: u32,
    /// Of cycles only.
    pub method: u32,
    /// Code of the stage.
    pub stage: u8,
    /// Place in `records::Side` plus 1.
    pub side: u8,
    /// Number of the cycle in its visit, 0 where nobody had looked before it; of cycles only.
    pub cycle: u8,
    /// Always 0: rows are written as bytes.
    pub padding: u8,
}

/// A trial in the bucket of its work order. 32 bytes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Pod, Zeroable)]
#[repr(C)]
pub struct OrderTrial {
    /// Its work order within its site, else its site and day.
    pub order: u64,
    /// Where the trial counts.
    pub cell: TrialCell,
    /// Kinds that it is a trial of, a bit each.
    pub kinds: u8,
    /// 1 where the result is dirty.
    pub dirty: u8,
    /// Always 0: rows are written as bytes.
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
    /// Where the trial counts.
    pub cell: TrialCell,
    /// 1 where the result is dirty.
    pub dirty: u8,
    /// Always 0: rows are written as bytes.
    pub padding: [u8; 7],
}

/// The cluster of a trial: its work order within its site, else its site and day.
pub fn cluster(site: u32, order: u32, day: impl Fn() -> Option<u32>) -> u64 {
    let (flag, low) = if order == 0 { (0, day().unwrap_or(0)) } else { (1 << 63, order) };
    flag | u64::from(site) << 32 | u64::from(low)
}
