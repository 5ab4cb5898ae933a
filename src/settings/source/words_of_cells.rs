//! Words for how cells are written, and for what becomes of those that cannot be read.

use crate::records::code_list;

code_list! {
    /// How an export writes a length of time.
    DurationForm {
        /// A whole number of minutes: 130.
        Minutes = "minutes",
        /// Hours as a decimal number: 2.5, or 2,5 by the source's decimal mark.
        Hours = "hours",
        /// Days as a decimal number.
        Days = "days",
        /// Hours and minutes: 2:10; hours may exceed a day.
        HourMinute = "h:mm",
        /// Hours, minutes and seconds: 2:10:00.
        HourMinuteSecond = "h:mm:ss",
        /// Minutes and seconds: 130:00.
        MinuteSecond = "mm:ss",
        /// Numbers with letters or words of their units: 2h10m, 2 h 10, 1 d 2 h, 90 min.
        Units = "2h10m",
        /// ISO 8601: PT2H10M, P1DT2H.
        Iso = "PT2H10M",
    }
}

/// What becomes of an unreadable cell of a column that may be empty.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unreadable {
    /// The cell is null, and counted; the rest of the row stands.
    Null,
    /// The row is quarantined.
    Quarantine,
}

/// Their words.
pub const UNREADABLE: &[(&str, Unreadable)] =
    &[("null", Unreadable::Null), ("quarantine", Unreadable::Quarantine)];
