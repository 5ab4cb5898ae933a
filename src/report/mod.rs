//! The review as people and machines read it: a front page, a page a question and a site, pictures, tables, findings, and
//! what the run was made of.
//!
//! Promises: the same review gives the same bytes; the folder is replaced whole or not at all; every word from records
//! is escaped for where it goes (page, picture, spreadsheet); a table without rows is said to be so. It picks, orders,
//! formats and words; where it stops: no statistic is computed here.

mod archive;
mod compared;
mod error;
mod files;
mod inputs;
mod page;
mod pages;
mod questions;
mod sites;
mod words;
mod write;
mod written;

pub use archive::zip;
pub use compared::{CompareError, Compared, compared};
pub use error::ReportError;
pub use files::csv::harmless;
pub use files::place::{may_replace, try_folder};
pub use files::schema::FINDINGS_SCHEMA;
pub use inputs::Inputs;
pub use pages::write_payback;
pub use words::purchase::payback_lines;
pub use write::{Form, write, write_as};
pub use written::Written;
