//! Drawn numbers: resampled clusters, a triangle of belief, times of which some never come.

pub mod bootstrap;
pub mod never;
pub mod triangular;
