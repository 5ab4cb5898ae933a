//! The columns of a batch while they are filled.

pub mod batch;
pub mod column;
pub mod dictionary;
pub mod identity;
pub mod short_words;
