//! The settings of a fleet: one `fleet.toml`, read whole, checked whole.
//!
//! Text becomes a tree that knows its lines (`lines`), the tree becomes what was typed
//! (`written`, `typed`), and that becomes what is meant ([`Plan`], by `check`). Every problem of a
//! file is reported at once, each with its line. Opens no file but the settings themselves: whether
//! exports exist is intake's business.

mod allowed;
mod check;
mod costs;
mod day;
mod dialect;
mod error;
mod keys;
mod lines;
mod money;
mod nearest;
mod place;
mod plan;
mod problems;
mod proposal;
mod read;
mod rules;
mod section;
mod typed;
mod usual;
mod words;
mod written;
mod written_proposal;

pub use crate::calendar::ClockChange;
pub use allowed::allowed;
pub use costs::Costs;
pub use dialect::{Dialect, Encoding, LineEnd, Separator, ShortRows};
pub use error::{Problem, SettingsError};
pub use nearest::nearest;
pub use plan::{
    Codes, Cover, Fleet, NameScope, People, Plan, RecordMap, Source, Stages, Test, When,
};
pub use proposal::{Effect, EffectKind, Proposal, Stated};
pub use read::{read, read_text};
pub use rules::Rules;
pub use section::Described;
