//! Numbers in, numbers out.
//!
//! Every function takes counts, exposures or slices of them and hands back one [`estimate::Estimate`] or
//! a struct of them. Promises: the same input gives the same bits; no NaN and no infinity comes out; every
//! function names its source. Stops at numbers: no input or output, no words of the trade, nothing of
//! the rest of the crate.

pub mod adjusted_curve;
pub mod agreement;
mod ascent;
pub mod attributable;
pub mod best_sets;
pub mod beta_binomial;
pub mod beta_geometric;
mod beta_geometric_profile;
mod beta_quantile;
pub mod binomial_sum;
pub mod bootstrap;
mod cell_likelihood;
mod cell_posterior;
mod cholesky;
pub mod clustered;
pub mod competing;
mod conditional;
pub mod cumulative_hazard;
mod density;
pub mod difference;
pub mod discounting;
pub mod discrete_logistic;
pub mod dispersion;
pub mod estimate;
pub mod evalue;
pub mod expected_rank;
pub mod funnel;
pub mod gamma_poisson;
pub mod geometric;
mod grouped_trials;
mod hyper_grid;
pub mod hypergeometric;
mod incomplete;
mod input;
pub mod mantel_haenszel;
pub mod multiple;
pub mod never;
pub mod p_prime;
pub mod person_time;
pub mod poisson_error;
pub mod poisson_regression;
pub mod power_law;
pub mod proportion;
pub mod quantile;
pub mod random_effects;
pub mod rate;
pub mod recurrence;
mod rising;
mod root;
pub mod run_rules;
pub mod shifted_odds;
pub mod standardised;
pub mod stratified_poisson;
pub mod tilted;
pub mod trend;
pub mod triangular;
mod wald;

pub use attributable::exposed_fraction;
pub use clustered::{ClusterSums, design_effect, effective_wilson};
pub use competing::{Incidence, Step, aalen_johansen};
pub use cumulative_hazard::{Band, cumulative_hazard, hazard_curve};
pub use estimate::{Estimate, Warning};
pub use mantel_haenszel::mantel_haenszel;
pub use multiple::benjamini_hochberg;
pub use p_prime::{PPoint, p_prime};
pub use person_time::PersonTime;
pub use proportion::wilson;
pub use random_effects::{CellPosterior, random_effects};
pub use rate::{garwood, rate_ratio};
