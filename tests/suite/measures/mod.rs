//! Measures: laws that hold for every table, and figures worked out again another way.

mod again;
mod any_counts;
mod changed;
mod coverage;
mod cycles;
mod extremes;
mod laws;
mod payback;
mod sites;
mod skipped;
