//! Samples that stand for a lot or a stream: how many to look at, and how many bad ones are too many.

pub mod letters;
pub mod plan;
pub mod switching;

pub use letters::{Letter, listed_plan};
pub use plan::{Demand, Plan, lot_plan, stream_plan};
pub use switching::{Regime, Switching};
