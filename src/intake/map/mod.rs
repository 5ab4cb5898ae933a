//! The map of a source: compiled for an export's header, then applied row by row.

pub mod applied;
pub mod code;
pub mod compile;
pub mod currency;
pub mod duration;
pub mod field;
pub mod first;
pub mod header;
pub mod input;
pub mod number;
pub mod scope;
pub mod time;
pub mod when;
