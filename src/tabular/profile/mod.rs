//! What the columns of a table hold, as far as a sample of its rows tells.
//!
//! A [`Profiler`] is fed rows of trimmed cells and gives a [`ColumnProfile`] a column. Nothing is
//! settled by custom: a day-month order, a decimal mark or a first year is either shown by the texts
//! themselves, with the text that shows it, or stays a doubt. Memory and time of a column are bounded
//! whatever its cells hold: long texts are cut, and counting of different ones stops at a limit.
//!
//! It proposes; it converts nothing. What a pattern makes of a text is asked of [`super::date`], the
//! same reader that loads the rows.

mod amounts;
mod clock;
mod column;
mod column_profile;
mod counted_time;
mod cursor;
mod date_fit;
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

pub use amounts::WrittenNumbers;
pub use column_profile::{ColumnProfile, Guess};
pub use date_fit::{DateFit, DayMonth};
pub use null_words::is_null_word;
pub use number_tally::THOUSANDS;
pub use profiler::Profiler;
pub use sentence::counted;
