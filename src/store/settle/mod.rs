//! Which record stands where exports of a source overlap, repeat or correct.

pub mod again;
pub mod complete;
pub mod fates;
pub mod judge;
pub mod versions;
