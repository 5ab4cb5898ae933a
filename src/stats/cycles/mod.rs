//! Trials until something succeeds: when it does, how the chance differs, and when to stop trying.

pub mod adjusted_curve;
pub mod beta_geometric;
pub mod clustered_trials;
pub mod competing;
pub mod discrete_logistic;
pub mod geometric;
pub mod shifted_odds;
pub mod stopping_rule;
