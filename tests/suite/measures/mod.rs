//! Measures: laws that hold for every table, and figures worked out again another way.

mod again;
mod laws;
