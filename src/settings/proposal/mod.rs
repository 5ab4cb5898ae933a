//! `[[proposal]]` and `[budget]`: what may be bought, and for how much.

mod declared;
mod effect;
mod read;
mod stated;

pub use declared::{Proposal, TypedBudget, TypedProposal};
pub use effect::{CARRIER_KINDS, Effect, EffectKind, TypedEffect};
pub use read::{budget, proposals};
pub use stated::{Stated, TypedBelief};
