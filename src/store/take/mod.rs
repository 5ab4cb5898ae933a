//! From the files on disk to staged parts: which files, their rows, what could not be read.

pub mod export;
pub mod globs;
pub mod matched;
pub mod quarantine;
pub mod ranges;
pub mod sink;
pub mod stage;
pub mod unread;
