//! The passes over the buckets, several threads at a time.

mod at_hand;
pub mod bucketwise;
mod carriers;
pub mod count;
mod counting;
mod faults;
mod group_rows;
mod groups;
mod pass_one;
mod pass_two;
mod waiting;

pub use at_hand::{Met, TicketRows};
pub use carriers::{Lines, Summed, named_faces};
pub use groups::Grouping;
pub use pass_one::Passed;
