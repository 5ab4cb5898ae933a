//! Arithmetic that every method stands on: incomplete gamma and beta functions, quantiles, roots, climbs, small
//! matrices, and what a number may be on its way in and out. Uses no other room.

pub(super) mod ascent;
pub(super) mod beta_quantile;
pub(super) mod cholesky;
pub(super) mod density;
pub(super) mod incomplete;
pub(super) mod input;
pub mod quantile;
pub mod regression;
pub(super) mod rising;
pub(super) mod root;
