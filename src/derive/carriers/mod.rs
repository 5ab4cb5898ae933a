//! Carriers of dirt: trials of what a thing did to the next end, squared by work order, listed by
//! end face.

pub mod faces;
pub mod orders;
pub mod touches;
pub mod trial;
