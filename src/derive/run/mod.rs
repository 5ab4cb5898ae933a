//! The passes over the buckets, several threads at a time.

pub mod bucketwise;
mod carriers;
pub mod count;
mod counting;
mod faults;
mod pass_one;
mod pass_two;

pub use carriers::named_faces;
