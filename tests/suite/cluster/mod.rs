//! The review in shares: whatever way the work is cut, and whatever happens to single workers, the report is the one that
//! one machine writes.

mod engine;
mod exports;
mod faults;
mod filter;
mod ranges;
mod shares;
mod spark;
mod together;
