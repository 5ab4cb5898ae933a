//! Days, weeks, months and quarters of the fleet's zone; the period of a review and what it is
//! compared with.

pub mod compared;
pub mod day;
pub mod period;
pub mod pieces;
