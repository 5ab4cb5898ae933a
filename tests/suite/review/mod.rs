//! The demo from exports to findings: accounts add up, what was planted is found, the same bytes
//! come out however it is run.

mod accounts;
mod bytes;
pub mod demo;
mod listed;
mod planted;
mod planted_entry;
