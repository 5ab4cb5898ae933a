//! What pages are made of: the shell around each, links between them, a section, a table, a picture with its words. Knows
//! of pages no more than their addresses; whole pages are in `pages`.

pub(in crate::report) mod escape;
pub(in crate::report) mod links;
pub(in crate::report) mod over_time;
pub(in crate::report) mod page_table;
pub(in crate::report) mod picture;
pub(in crate::report) mod section;
pub(in crate::report) mod shell;
