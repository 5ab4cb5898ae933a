//! `[[source]]`: exporters of records, how their files are written and what their rows become.

mod columns;
mod covers;
mod dates;
mod declared;
mod dialect;
mod durations;
mod files;
mod forms;
mod name_rules;
mod names;
mod number_keys;
mod numbers;
mod part;
mod parts;
mod people;
mod piece;
mod read;
mod record;
mod text;
mod unreadable;
mod values;
mod when;
mod words_of_cells;
mod zones;

pub use covers::{Cover, TypedCover};
pub use declared::{Dialect, NameScope, Source, TypedSource};
pub use dialect::{Encoding, LineEnd, Separator, ShortRows};
pub use name_rules::{Marks, NamePattern, NameRules, PatternFault};
pub use names::TypedNames;
pub use number_keys::{Blank, MoneyUnit, Numbers, Thousands, TypedNumber};
pub use people::People;
pub use piece::Piece;
pub use read::sources;
pub use record::{RecordMap, TypedRecord};
pub use when::{Test, TypedWhen, When};
pub use words_of_cells::{DurationForm, Unreadable};
