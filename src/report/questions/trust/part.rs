//! What a topic of trust brings to the page.

use crate::report::page::page_table::PageTable;

/// Rows of a table of this section that the page shows; the files have all.
pub(super) const MOST_ROWS: usize = 12;

/// Tables and sentences of one topic.
#[derive(Default)]
pub(super) struct Part {
    pub tables: Vec<PageTable>,
    pub doubts: Vec<Doubt>,
}

/// A sentence of doubt.
pub(in crate::report) struct Doubt {
    /// How much of what the review rests on it touches, from 0 to 1: a share of rows, of sites, of a headline. The page
    /// says the worst first.
    pub weight: f64,
    pub sentence: String,
}
