//! Line ends of the three kinds: where the next one is, how many there are.

use memchr::{memchr, memchr_iter, memchr2};

use crate::settings::LineEnd;

/// The first line end at or behind `from`: where it begins and where the next line does. None if
/// there is none, or if only bytes yet to come (`last` says that there are none) tell how long it
/// is. Of LF the carriage return before it counts as text here.
pub fn line_end_from(
    bytes: &[u8],
    from: usize,
    last: bool,
    line_end: LineEnd,
) -> Option<(usize, usize)> {
    let rest = bytes.get(from..)?;
    let at = from
        + match line_end {
            LineEnd::Lf => memchr(b'\n', rest)?,
            LineEnd::Cr => memchr(b'\r', rest)?,
            LineEnd::Any => memchr2(b'\n', b'\r', rest)?,
        };
    line_end_at(bytes, at, last, line_end).map(|next| (at, next))
}

/// Where the next line begins if a line end begins at `at`.
pub fn line_end_at(bytes: &[u8], at: usize, last: bool, line_end: LineEnd) -> Option<usize> {
    match (bytes.get(at)?, line_end) {
        (b'\n', LineEnd::Lf | LineEnd::Any) | (b'\r', LineEnd::Cr) => Some(at + 1),
        (b'\r', LineEnd::Any) => match bytes.get(at + 1) {
            Some(b'\n') => Some(at + 2),
            None if !last => None,
            _ => Some(at + 1),
        },
        _ => None,
    }
}

/// Line ends inside these bytes.
pub fn line_ends_in(bytes: &[u8], line_end: LineEnd) -> u64 {
    let count = |byte| memchr_iter(byte, bytes).count() as u64;
    match line_end {
        LineEnd::Lf => count(b'\n'),
        LineEnd::Cr => count(b'\r'),
        LineEnd::Any => {
            let pairs = memchr_iter(b'\n', bytes).filter(|at| *at > 0 && bytes[at - 1] == b'\r');
            count(b'\n') + count(b'\r') - pairs.count() as u64
        }
    }
}
