mod attributable;
mod binomial_sum;
mod exact_ratio;
mod homogeneity;
pub mod mantel_haenszel;
mod random_effects;
mod stated_bias;
mod stratified_odds;
mod tilted;
