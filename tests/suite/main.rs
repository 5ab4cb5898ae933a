//! The one test binary: a module a stage.

mod benches;
mod charts;
mod cluster;
mod command;
mod departures;
mod derive;
mod draft;
mod fuzz;
mod hostile;
mod house;
mod intake;
mod measures;
mod printed;
/// Tables and fleets with known truth: `cargo bench --bench proof` draws more of them.
#[path = "../../benches/proof/mod.rs"]
mod proof;
mod report;
mod review;
mod settings;
mod stats;
mod store;
mod synth;
mod tabular;
