//! Packed files: compressed streams, members of zip files, and the bound on what they may become.

pub mod compression;
pub mod ratio;
pub mod zip_member;
