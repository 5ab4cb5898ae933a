//! The passes over the buckets, several threads at a time.

pub mod bucketwise;
mod carriers;
pub mod count;
mod counting;
mod faults;
mod pass_one;
mod pass_two;

pub use carriers::{Lines, Prompted, Summed, named_faces};
pub use faults::InForces;
pub use pass_one::Passed;
