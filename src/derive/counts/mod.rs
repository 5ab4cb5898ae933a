//! What is counted: each count table declared beside the functions that fill it.
//!
//! A table is declared once (`declare.rs`): its columns with their types (`codes.rs`), its figures with
//! unit and meaning. `table.rs` keeps and merges any of them, `arrow.rs` exports any of them, `all.rs`
//! lists the topics, each of which lists its tables.

mod about;
mod all;
mod arrow;
mod carried;
mod carriers;
mod cells;
mod cleaning;
mod codes;
mod columns;
mod counted;
mod coverage;
mod declare;
mod entry;
mod first_pass;
mod followed;
mod kept;
mod laid_out;
mod late;
mod merged_faults;
mod months;
mod narrow;
mod order;
mod packed;
mod prices;
mod rates;
mod recording;
mod risks;
mod stretch;
mod table;
mod tally;
mod trust;
mod weeks_in_force;

pub use all::Counts;
pub use arrow::{all_to_arrow, to_arrow};
pub use carriers::*;
pub use cleaning::*;
pub use codes::*;
pub use coverage::*;
pub use entry::*;
pub use first_pass::*;
pub use followed::*;
pub use kept::Tallying;
pub(in crate::derive) use laid_out::laid_out;
pub use late::*;
pub use merged_faults::*;
pub use months::*;
pub use narrow::Narrow;
pub(in crate::derive) use order::{Digits, by_number};
pub use prices::*;
pub use rates::*;
pub use recording::*;
pub use risks::*;
pub use table::{
    AnyTable, Codes, ColumnAbout, Columns, CountTable, Counted, FigureAbout, Figures, Has, Key,
    Part, Row, TableAbout, Unit,
};
pub use tally::{tally_fault, tally_mating, tally_visit};
pub use trust::*;
pub use weeks_in_force::{ForceTally, Pieces};
