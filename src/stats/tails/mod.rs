//! How odd the oddest are: tails of counts under chance alone, scatter between clusters, many tests at once.

pub mod binomial;
pub mod cluster_scatter;
pub mod dispersed_tail;
pub mod hypergeometric;
pub mod multiple;
pub mod others;
