mod attributable;
mod binomial_sum;
pub mod mantel_haenszel;
mod random_effects;
mod tilted;
