//! The sites of a review: how each stands in every answer, which exports hold its records, what its page is called.

mod answers;
mod exports;
mod named;

pub(in crate::report) use answers::{Answer, Standing, headings, of_fleet};
pub(in crate::report) use exports::files_of;
pub(in crate::report) use named::{Site, sites};
