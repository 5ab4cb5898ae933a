//! The settings of a fleet: one `fleet.toml`, read whole, checked whole.
//!
//! Text becomes a tree that knows its lines (`lines`), the tree becomes what was typed (`typed`), and that becomes what is
//! meant ([`Plan`]). A section is a file, or a room of files, with one table of its keys (`section`): type, default, range
//! and sentence. Every problem of a file is reported at once, each with its line. Opens no file but the settings
//! themselves: whether exports exist is intake's business.

mod action;
mod answers;
mod codes;
mod costs;
mod day;
mod error;
mod fleet;
mod keys;
mod lines;
mod lists;
mod looks;
mod money;
mod nearest;
mod place;
mod plan;
mod problems;
mod proposal;
mod ranges;
mod read;
mod rules;
mod section;
mod sections;
mod source;
mod stages;
mod typed;
mod words;

pub use crate::calendar::ClockChange;
pub use action::{Action, ActionFrom, Target};
pub use answers::{
    ANSWER, ANSWERS, ASKED, Answer, CHANGES, GOES_ON, OpenQuestion, answer_of, open_questions,
};
pub use codes::{Codes, allowed};
pub use costs::Costs;
pub use error::{Problem, SettingsError};
pub use fleet::Fleet;
pub use looks::{LookMinutes, Looks};
pub use nearest::nearest;
pub use plan::Plan;
pub use proposal::{CARRIER_KINDS, Effect, EffectKind, Proposal, Stated};
pub use read::{read, read_lists, read_text};
pub use rules::Rules;
pub use section::Described;
pub use sections::{SECTIONS, Section};
pub use source::{
    Blank, Cover, Dialect, DurationForm, Encoding, LineEnd, Marks, MoneyUnit, NamePattern,
    NameRules, NameScope, Numbers, PatternFault, People, Piece, RecordMap, Separator, ShortRows,
    Source, Test, Thousands, Unreadable, When,
};
pub use stages::Stages;
