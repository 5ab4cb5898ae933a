//! What is counted: each count table beside the functions that fill it.

pub mod all;
pub mod arrow;
pub mod carrier_counts;
pub mod cluster_counts;
pub mod force_weeks;
pub mod kinds;
pub mod passage_counts;
pub mod rate_counts;
pub mod table;
pub mod tally;
pub mod tally_carriers;
pub mod tally_exposure;
pub mod tally_mating;
pub mod tally_passages;
pub mod tally_rates;
