//! Settings for a whole folder of exports: one `fleet.toml` with a source for each shape of file, and every question at
//! its top, in the order of what the answers change.
//!
//! Promises what the draft of one map promises, and that a question which several exports raise is asked once; that what
//! stands until an answer comes is marked; that running it again for new files changes no line that is there. Reads no
//! file: it is given what was seen of each.

mod answer;
mod changed;
mod clocks;
mod facts;
mod first;
mod glob;
mod group;
mod head;
mod joined;
mod more;
mod needs;
mod order;
mod questions;
mod sources;

use crate::settings::{Dialect, Plan};
use crate::tabular::profile::ColumnProfile;

use super::rows::SampleRows;

pub use answer::{Asked as AskedOfFleet, answer, asked, typed};
pub use changed::changed;
pub use first::first;
pub use more::more;
pub use needs::{Need, Standing, needs};

/// What was seen of one export.
#[derive(Clone, Debug)]
pub struct Exported {
    /// Its path as the settings will name it.
    pub file: String,
    /// What it is, such as `text` or a kind of workbook.
    pub format: String,
    /// What its columns hold.
    pub columns: Vec<ColumnProfile>,
    /// How it is written.
    pub dialect: Dialect,
    /// Some of its rows.
    pub rows: SampleRows,
    /// Why its encoding is a guess, if it is one.
    pub guessed_encoding: Option<String>,
}

/// What a draft of settings is asked for.
#[derive(Clone, Debug)]
pub struct FleetAsked {
    /// Name of the fleet, for the report.
    pub name: String,
    /// Every file of the folder, those too that are no exports: no glob may mean one that it does not belong to.
    pub files: Vec<String>,
    /// The settings so far, where new exports are added to them, with their text.
    pub known: Option<(Plan, String)>,
}

/// Drafted settings.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FleetDraft {
    /// The whole file.
    pub toml: String,
    /// A line a source: which files, which table and why.
    pub sources: Vec<String>,
    /// Exports that no source was drafted for, each with the reason.
    pub left_out: Vec<(String, String)>,
    /// Questions that were added.
    pub questions: usize,
}
