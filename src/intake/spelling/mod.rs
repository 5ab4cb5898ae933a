//! How sources write the names of end faces: the rules of the settings (R8) as functions, with their alias tables.

pub mod aliases;
pub mod rules;
pub mod sources;
