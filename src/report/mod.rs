//! The review as people and machines read it: one page, pictures, tables, findings, and what the run was made of.
//!
//! Promises: the same review gives the same bytes; the folder is replaced whole or not at all; every word from records
//! is escaped for where it goes (page, picture, spreadsheet); a table without rows is said to be so. It picks, orders,
//! formats and words; where it stops: no statistic is computed here.

mod error;
mod files;
mod inputs;
mod page;
mod questions;
mod words;
mod write;
mod written;

pub use error::ReportError;
pub use files::place::{may_replace, try_folder};
pub use inputs::Inputs;
pub use page::payback::write_payback;
pub use words::purchase::payback_lines;
pub use write::write;
pub use written::Written;
