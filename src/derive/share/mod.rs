//! The derivation in shares: what a worker of a cluster is handed, what it hands on, and how that is joined.
//!
//! Every stage of the passes is a function of the stages before it and of some rows. On one machine it is computed where
//! its results are needed. A worker runs the same derivation up to its stage: of the stages before, it takes what the
//! workers there came to together (`states.rs`); of its own, it computes what the rows that it was handed give
//! (`input.rs`), and hands that on (`output.rs`). So no rule is written twice, and what a stage needs is known nowhere
//! but in the stage.

pub mod envelope;
pub mod filter;
pub mod input;
pub mod output;
pub mod packed;
pub mod stage;
pub mod states;
pub mod together;
pub mod work;
