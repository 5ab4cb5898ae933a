//! Simulations with known truth: what is drawn, which interval or list is tried on it.
//!
//! Each file holds the settings of one part of the measures. Promises the same tables for the same
//! seed. Stops at count tables, but for `purchases` and `fleets`, whose tables are whole fleets (`invented`).

mod actions;
mod carriers;
mod cell_money;
mod cells;
mod chance;
mod changed;
mod charts;
mod cycles;
mod dispersed;
mod entry;
mod first_pass;
mod fleets;
pub mod invented;
mod lasting_shares;
mod lists;
mod money;
pub mod printed;
pub mod purchases;
mod rates;
mod ratios;
mod regressions;
mod risk_sets;
mod score;

pub use score::{Claim, Found, Setting};

/// All settings, in the order of the table of results.
pub fn settings() -> Vec<Setting> {
    [
        first_pass::settings(),
        lasting_shares::settings(),
        charts::settings(),
        cycles::settings(),
        rates::settings(),
        dispersed::settings(),
        ratios::settings(),
        regressions::settings(),
        risk_sets::settings(),
        cells::settings(),
        money::settings(),
        cell_money::settings(),
        lists::settings(),
        entry::settings(),
        carriers::settings(),
        changed::settings(),
        actions::settings(),
        purchases::settings(),
        fleets::settings(),
        printed::settings(),
    ]
    .into_iter()
    .flatten()
    .collect()
}
