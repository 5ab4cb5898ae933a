//! Measures: laws that hold for every table, and figures worked out again another way.

mod accounts;
mod again;
mod any_counts;
mod carriers;
mod changed;
mod changes;
mod changes_planted;
mod coverage;
mod cycles;
mod entry;
mod extremes;
mod laws;
mod looks_plan;
mod payback;
mod prices;
mod rates;
mod sites;
mod skipped;
mod stopping;
mod ticket_prices;
mod worklist;
