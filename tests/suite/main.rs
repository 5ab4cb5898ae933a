//! The one test binary: a module a stage.

mod charts;
mod intake;
mod settings;
mod stats;
mod store;
mod synth;
