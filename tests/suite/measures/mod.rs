//! Measures: laws that hold for every table, and figures worked out again another way.

mod again;
mod changed;
mod changes;
mod changes_planted;
mod coverage;
mod cycles;
mod extremes;
mod laws;
mod rates;
mod sites;
mod skipped;
