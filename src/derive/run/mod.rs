//! The passes over the buckets, several threads at a time.

pub mod bucketwise;
mod carriers;
pub mod count;
mod counting;
mod faults;
mod pass_one;
mod pass_two;
mod waiting;

pub use carriers::{Lines, Summed, named_faces};
pub use faults::Attached;
pub use pass_one::{NamedRows, Passed};
