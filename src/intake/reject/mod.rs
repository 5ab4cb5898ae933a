//! What is kept of a row that could not be typed, and how it is said.

pub mod losses;
pub mod raw;
pub mod reason;
