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

/// Pattern of a time of day whose hour and minute a dot joins, as `08.15`. The text alone could be a number: only of
/// use where the name of the column says that it holds times.
pub fn dotted(text: &str) -> Option<String> {
    let (hour, minute) = text.split_once('.')?;
    let below = |part: &str, limit: u8| {
        let digits = part.bytes().all(|byte| byte.is_ascii_digit());
        digits && part.parse::<u8>().is_ok_and(|number| number < limit)
    };
    let is_time = hour.len() <= 2 && minute.len() == 2 && below(hour, 24) && below(minute, 60);
    is_time.then(|| "%H.%M".to_owned())
}
