//! Whether numbers have a point or a comma before their fraction.

use super::Doubt;
use super::kind::{Kind, is_number};
use super::seen::{KEPT, Seen, Text};

/// Rows that are looked at.
const ROWS: usize = 2_000;

/// The decimal mark of the numbers in these rows; with the doubt, if there is one.
pub fn decimal_mark(text: &Text, rows: &[Seen]) -> (u8, Option<Doubt>) {
    let (mut points, mut commas, mut thousands, mut example) = (0, 0, 0, String::new());
    for row in rows.iter().take(ROWS) {
        if !(0..KEPT.min(row.width)).any(|cell| row.kind(cell) == Kind::Number) {
            continue;
        }
        for cell in text.cells_of(row) {
            match mark_of(cell.trim()) {
                Some((b',', true)) => {
                    (thousands, example) = (thousands + 1, cell.trim().to_owned());
                }
                Some((b',', false)) => commas += 1,
                Some(_) => points += 1,
                None => {}
            }
        }
    }
    let mark = if commas > points { b',' } else { b'.' };
    let doubt = if commas > 0 && points > 0 {
        Some(Doubt::new(
            format!("the decimal mark is taken to be \"{}\"", char::from(mark)),
            format!("{commas} numbers have a comma before their fraction, {points} a point"),
        ))
    } else if thousands > 0 && commas == 0 {
        Some(Doubt::new(
            "a comma may be a decimal mark or stand between thousands",
            format!("{thousands} numbers such as {example}"),
        ))
    } else {
        None
    };
    (mark, doubt)
}

/// The last mark of a number; and whether it may stand between thousands instead.
fn mark_of(cell: &str) -> Option<(u8, bool)> {
    let bytes = cell.as_bytes();
    if !is_number(bytes) {
        return None;
    }
    let at = bytes.iter().rposition(|byte| b".,".contains(byte))?;
    let before = bytes[..at].iter().any(|byte| b".,".contains(byte));
    let group = bytes.len() - at == 4 && at <= 4;
    Some((bytes[at], group && !before && bytes[at] == b','))
}
