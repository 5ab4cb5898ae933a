//! What one column holds.

use super::amounts::WrittenNumbers;
use super::date_fit::DateFit;

/// What one column holds, from a sample of its cells (trimmed texts).
#[derive(Clone, Debug, PartialEq)]
pub struct ColumnProfile {
    /// Its name, as the header gives it.
    pub name: String,
    /// Cells looked at.
    pub cells: usize,
    /// Of them without text.
    pub empty: usize,
    /// Texts that seem to mean "not given" (n/a, -, null, none, k.A., ?, ...) with their counts, most
    /// frequent first. They are among `words` too, since a column may well mean one of them.
    pub nulls: Vec<(String, usize)>,
    /// What the given cells (neither empty nor among `nulls`) are.
    pub kind: Guess,
    /// Up to five different given texts, first seen first, each at most 80 characters.
    pub examples: Vec<String>,
    /// Different texts with counts, most frequent first (ties by text), kept only while at most 200
    /// differ; each at most 200 characters.
    pub words: Option<Vec<(String, usize)>>,
    /// Different texts seen, up to 100,000.
    pub distinct: usize,
    /// Every way to read nearly all given cells as times; best first; empty if it is no time column.
    pub dates: Vec<DateFit>,
    /// How its numbers are written.
    pub numbers: WrittenNumbers,
    /// What is not certain, each a plain sentence with its evidence.
    pub doubts: Vec<String>,
}

impl ColumnProfile {
    /// Cells that are neither empty nor seem to mean "not given".
    pub fn given(&self) -> usize {
        let nulls: usize = self.nulls.iter().map(|(_, count)| count).sum();
        self.cells.saturating_sub(self.empty + nulls)
    }

    /// Pattern of its times of day (`%H:%M`), if its examples are such without a date: the other half
    /// of a time whose date stands in another column.
    pub fn clock(&self) -> Option<String> {
        self.one_pattern(super::clock::pattern)
    }

    /// The same for times of day that a dot joins, as `08.15`, which by themselves could be numbers.
    pub fn dotted_clock(&self) -> Option<String> {
        self.one_pattern(super::clock::dotted)
    }

    /// The pattern that all examples have.
    fn one_pattern(&self, pattern: fn(&str) -> Option<String>) -> Option<String> {
        let mut patterns = self.examples.iter().map(|text| pattern(text));
        let first = patterns.next()??;
        patterns.all(|pattern| pattern.as_deref() == Some(&first)).then_some(first)
    }
}

/// What the given cells of a column are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Guess {
    /// No cell is given.
    Empty,
    /// Yes or no in one of the usual pairs of words.
    Flag,
    /// Whole numbers.
    Integer,
    /// Numbers with this decimal mark, `.` or `,`.
    Decimal {
        /// The mark, `.` or `,`.
        mark: u8,
    },
    /// Times with an hour.
    Instant,
    /// Dates without an hour.
    Day,
    /// Few different texts, repeated.
    Words,
    /// Mostly different short texts, as names and numbers of things are.
    Name,
    /// Anything else.
    Text,
}
