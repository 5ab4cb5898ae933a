//! The page: its shell, a section, a table of it, a picture with its words.

pub(in crate::report) mod escape;
pub(in crate::report) mod links;
pub(in crate::report) mod over_time;
pub(in crate::report) mod page_table;
pub(in crate::report) mod picture;
pub(in crate::report) mod section;
pub(in crate::report) mod shell;
