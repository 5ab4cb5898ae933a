//! Measures: laws that hold for every table, and figures worked out again another way.

mod again;
mod changed;
mod changes;
mod coverage;
mod cycles;
mod extremes;
mod laws;
mod sites;
mod skipped;
