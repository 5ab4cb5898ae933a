//! Money over time, and which of many purchases a sum buys best.

pub mod best_sets;
pub mod discounting;
