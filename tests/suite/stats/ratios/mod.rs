mod attributable;
mod binomial_sum;
pub mod mantel_haenszel;
mod random_effects;
mod stated_bias;
mod stratified_odds;
mod tilted;
