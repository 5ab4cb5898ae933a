//! The one test binary: a module a stage.

mod charts;
mod derive;
mod intake;
mod report;
mod settings;
mod stats;
mod store;
mod synth;
