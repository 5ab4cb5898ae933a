//! The one test binary: a module a stage.

mod settings;
