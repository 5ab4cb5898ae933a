//! Times of day without a date.

use super::cursor::Cursor;
use super::written_time::time;
use crate::tabular::date::Pattern;

/// Any day will do to try an hour on.
const SOME_DAY: [&str; 2] = ["%Y-%m-%d ", "2000-01-01 "];

/// Pattern of a time of day; none if the text is no such time. Hours and minutes must be joined by a
/// colon or an `h`: `10.30` is a number.
pub fn pattern(text: &str) -> Option<String> {
    let mut cursor = Cursor::new(text);
    let pattern = time(&mut cursor).filter(|_| cursor.is_done())?;
    let joined = ["%H:", "%I:", "%Hh"].iter().any(|start| pattern.starts_with(start));
    let [pattern_day, day] = SOME_DAY;
    let whole = Pattern::compile(&format!("{pattern_day}{pattern}"), None).ok()?;
    (joined && whole.read(&format!("{day}{text}")).is_ok()).then_some(pattern)
}
