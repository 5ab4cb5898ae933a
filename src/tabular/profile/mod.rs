//! What the columns of a table hold, as far as a sample of its rows tells.
//!
//! A [`Profiler`] is fed rows of trimmed cells and gives a [`ColumnProfile`] a column. Nothing is
//! settled by custom: a day-month order, a decimal mark or a first year is either shown by the texts
//! themselves, with the text that shows it, or stays a doubt. Memory and time of a column are bounded
//! whatever its cells hold: long texts are cut, and counting of different ones stops at a limit.
//!
//! It proposes; it converts nothing. What a pattern makes of a text is asked of [`super::date`], the
//! same reader that loads the rows.

mod clock;
mod column;
mod counted_time;
mod date_tally;
mod day_month;
mod flags;
mod guess;
mod null_words;
mod number_tally;
mod number_text;
mod profiler;
mod sentence;
mod time_doubts;
mod written_date;
mod written_time;

pub use profiler::Profiler;

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
    /// What is not certain, each a plain sentence with its evidence.
    pub doubts: Vec<String>,
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
    Decimal { mark: u8 },
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

/// How patterns read a column as times.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DateFit {
    /// Patterns to try in this order; one, unless the column writes its times in several ways.
    pub patterns: Vec<String>,
    /// Cells read, of the given ones.
    pub fits: usize,
    /// Cells that are neither empty nor seem to mean "not given".
    pub given: usize,
    /// Order of day and month, as far as settled.
    pub order: DayMonth,
    /// The text that settled it, or why nothing does.
    pub evidence: String,
    /// Every text says its zone (an offset or `Z`) or counts from a moment in UTC; else local times.
    pub zoned: bool,
    /// Years of two digits: the first of the hundred years meant must be told.
    pub short_years: bool,
}

/// Order of day and month.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum DayMonth {
    /// By the texts themselves.
    DayFirst,
    /// By the texts themselves.
    MonthFirst,
    /// The year first, then the month; also counts of seconds, which leave nothing to settle.
    YearFirst,
    /// The month stands there as a name.
    Named,
    /// Several readings remain.
    Ambiguous,
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
        let mut patterns = self.examples.iter().map(|text| clock::pattern(text));
        let first = patterns.next()??;
        patterns.all(|pattern| pattern.as_deref() == Some(&first)).then_some(first)
    }
}
