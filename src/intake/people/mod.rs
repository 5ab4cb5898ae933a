//! Names of people: pseudonyms for them, and where they stand although no column is theirs.

pub mod key;
pub mod names;
