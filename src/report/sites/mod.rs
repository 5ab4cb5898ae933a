//! The sites of a review: how each stands in every answer, what speaks against its records, which exports hold them, what
//! its page is called. Picked and worded here; `pages` lays it out.

mod answers;
mod doubts;
mod exports;
mod named;

pub(in crate::report) use answers::{Answer, Standing, headings, of_fleet};
pub(in crate::report) use doubts::doubts;
pub(in crate::report) use exports::files_of;
pub(in crate::report) use named::{Site, sites};
