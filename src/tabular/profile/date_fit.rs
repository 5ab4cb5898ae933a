//! How patterns read a column as times.

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
    /// Years of two digits: the first of the hundred years meant must be given.
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
