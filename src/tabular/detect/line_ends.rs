//! Counts the line ends of a text by kind.

use memchr::memchr2_iter;

use super::{Doubt, LineEnds};

/// All of them, also those in quotes.
pub fn counted(text: &str) -> LineEnds {
    let bytes = text.as_bytes();
    let mut ends = LineEnds::default();
    for at in memchr2_iter(b'\n', b'\r', bytes) {
        match (bytes[at], at.checked_sub(1).map(|before| bytes[before]), bytes.get(at + 1)) {
            (b'\n', Some(b'\r'), _) => ends.crlf += 1,
            (b'\n', _, _) => ends.lf += 1,
            (_, _, Some(b'\n')) => {}
            _ => ends.cr += 1,
        }
    }
    ends
}

/// The doubt about a mixture.
pub fn mixed(ends: LineEnds) -> Option<Doubt> {
    let kinds = [ends.lf, ends.crlf, ends.cr].into_iter().filter(|count| *count > 0).count();
    (kinds > 1).then(|| {
        Doubt::new(
            "lines end in more than one way",
            format!("LF {}, CRLF {}, CR {}, also in quotes", ends.lf, ends.crlf, ends.cr),
        )
    })
}
