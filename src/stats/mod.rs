//! Numbers in, numbers out, a room for each kind of question.
//!
//! Every function takes counts, exposures or slices of them and hands back one [`estimate::Estimate`] or
//! a struct of them. Promises: the same input gives the same bits; no NaN and no infinity comes out; every
//! function names its source. Stops at numbers: no input or output, no words of the trade, nothing of
//! the rest of the crate.

pub mod cycles;
pub mod draws;
pub mod effects;
pub mod money;
pub mod rates;
pub mod ratios;
pub mod sampling;
pub mod segments;
pub mod shares;
pub mod special;
pub mod tails;

pub mod estimate;
mod wald;

pub use cycles::{
    adjusted_curve, beta_geometric, clustered_trials, competing, discrete_logistic, geometric,
    shifted_odds, stopping_rule,
};
pub use draws::{bootstrap, never, triangular};
pub use money::{best_sets, discounting};
pub use rates::{
    cumulative_hazard, gamma_poisson, grouped_recurrence, grouped_trend, order_quantile,
    poisson_regression, rate, rate_change, shared_scatter, standardised, survival_quantile,
};
pub use ratios::{
    attributable, binomial_sum, evalue, exact_ratio, homogeneity, mantel_haenszel, person_time,
    random_effects, risk_sets, stated_bias, stratified_odds, stratified_poisson, tilted,
};
pub use segments::{
    clusters as segment_clusters, first as segment_first, hazard as segment_hazard,
    split as segment_split,
};
pub use shares::{
    agreement, beta_binomial, clustered, expected_rank, funnel, lasting_shares, p_prime,
    proportion, ranked, run_rules, share_change, within,
};
pub use special::{quantile, regression};
pub use tails::{binomial, cluster_scatter, dispersed_tail, hypergeometric, multiple, others};

pub use cycles::competing::{Incidence, Step, aalen_johansen, aalen_johansen_clustered};
pub use estimate::{Estimate, Warning};
pub use rates::cumulative_hazard::{
    Band, cumulative_hazard, cumulative_hazard_dispersed, hazard_curve,
};
pub use rates::grouped_recurrence::{GroupedHistories, grouped_mean_cumulative};
pub use rates::grouped_trend::{Spell, grouped_laplace, grouped_power_law, scatter_about};
pub use rates::lasting::{BLOCK_WEEKS, lasting, that_tell};
pub use rates::order_quantile::order_quantile;
pub use rates::rate::{
    against_expected, garwood, garwood_dispersed, rate_ratio, rate_ratio_scaled, scatter_of_ratio,
};
pub use rates::shared_scatter::{Part, Scatter, scatter};
pub use rates::standardised::{WeightedStratum, fay_feuer_dispersed};
pub use ratios::attributable::exposed_fraction;
pub use ratios::mantel_haenszel::mantel_haenszel;
pub use ratios::person_time::PersonTime;
pub use ratios::random_effects::{CellPosterior, random_effects};
pub use segments::SegmentInterval;
pub use segments::hazard::{SegmentFit, SegmentRow};
pub use shares::clustered::{ClusterSums, Resemblance, effective_share};
pub use shares::lasting_shares::{Lasting, Piece, Rests, Span};
pub use shares::p_prime::{PPoint, p_prime};
pub use shares::proportion::wilson;
pub use tails::multiple::benjamini_hochberg;
