//! Hazards of the segments of a path, from looks that only say whether something happened somewhere on a stretch.

mod climb;
pub mod clusters;
mod design;
pub mod first;
pub mod hazard;
mod likelihood;
mod profile;
pub mod split;

pub use profile::SegmentInterval;
