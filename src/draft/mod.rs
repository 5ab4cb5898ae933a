//! A first map for a new export: `[[source]]` with its `[[source.record]]` parts, to be read by a
//! person and put into the settings.
//!
//! Proposes a canonical column for each export column from its name and its cells, codes for its
//! words, patterns for its times. The trade words of eight languages come from common practice.
//! Promises that what stands without a question is as clear as a name and its cells can make it,
//! that every other line carries a comment beginning with `# ?` with the question and its evidence,
//! that no column of the export disappears: those that no part reads are listed; and that no cell of a
//! column that may hold people's names is shown, and that it is masked unless its owner says otherwise. The same
//! profiles give the same text. Reads no file and checks nothing against later rows: intake does.

mod actions;
mod around;
mod asked;
mod assign;
mod choice;
mod cleaned;
mod code;
mod compose;
mod drafted;
mod durations;
mod ends;
mod fit;
mod fleet;
mod fold;
mod lifted;
mod mapped;
mod money;
mod name;
mod numbers;
mod page;
mod pair;
mod part;
mod parts;
mod people;
mod plan;
mod record_id;
mod rows;
mod source;
mod texts;
mod times;
mod values;
mod vocabulary;
mod write;
mod zones;

pub use asked::{Asked, Composed, FleetFacts, Remembered};
pub use assign::assign;
pub use drafted::{Draft, draft};
pub use fit::holds_people;
pub use fleet::{
    AskedOfFleet, Exported, FleetAsked, FleetDraft, Need, Standing, answer, asked, changed, first,
    more, needs, typed,
};
pub use page::DraftDoubt;
pub use rows::SampleRows;
pub use vocabulary::Vocabulary;
