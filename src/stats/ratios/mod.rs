//! Ratios of rates across strata, and what they amount to: attributable parts, cells that borrow from each other.

pub mod attributable;
mod bell;
pub mod binomial_sum;
mod cell_likelihood;
mod cell_posterior;
pub mod evalue;
pub mod exact_ratio;
pub mod homogeneity;
mod hyper_grid;
pub mod mantel_haenszel;
pub mod person_time;
mod prior;
pub mod random_effects;
pub mod risk_sets;
pub mod stated_bias;
pub mod stratified_odds;
pub mod stratified_poisson;
pub mod tilted;
