//! 5.10, Q10: can these records be trusted?
//!
//! One file a topic, each with a function that adds its rows to the table. To add a topic: its quantities and columns in
//! `declared.rs`, a file, a line in `TOPICS`; what it reads beside the counts is in [`Sources`]. On the page a topic has a
//! file of the same name in `report/questions/trust`.

mod accounts;
mod agreement;
mod attachment;
mod codes;
mod declared;
mod escapes;
mod late;
mod left_open;
mod meeting;
mod months;
mod prices;
mod recording;
mod register;
mod rejected;
mod sources;
mod too_good;

pub use declared::*;
pub use rejected::{NEEDS, Of, Refused, lost, over_limit, refused};
pub(in crate::measures) use sources::Sources;

use crate::derive::DeriveError;

/// Adds the rows of one topic.
type Topic = fn(&Sources, &mut Table) -> Result<(), DeriveError>;

/// Every topic, in the order of the table.
const TOPICS: &[Topic] = &[
    accounts::rows,
    codes::rows,
    attachment::rows,
    late::rows,
    meeting::rows,
    months::rows,
    register::rows,
    left_open::rows,
    agreement::rows,
    escapes::rows,
    too_good::rows,
    prices::rows,
    recording::rows,
    rejected::rows,
];

/// The table of trust.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn trust(from: &Sources) -> Result<Table, DeriveError> {
    let mut table = Table::default();
    for topic in TOPICS {
        topic(from, &mut table)?;
    }
    Ok(table)
}
