//! Text that a terminal only prints: names of files, columns and proposals may hold anything.

/// One line: each control character, an end of line too, as U+FFFD.
pub(super) fn printable(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { '\u{fffd}' } else { c }).collect()
}

/// The same with its line ends kept, for messages of several lines.
pub(super) fn printable_lines(text: &str) -> String {
    text.chars().map(|c| if c.is_control() && c != '\n' { '\u{fffd}' } else { c }).collect()
}

/// A line of JSON with the control characters that JSON itself lets pass as their numbers: a terminal
/// obeys those above 127 too.
pub(super) fn escaped(json: &str) -> String {
    let mut safe = String::with_capacity(json.len());
    for c in json.chars() {
        if c.is_control() {
            safe += &format!("\\u{:04x}", u32::from(c));
        } else {
            safe.push(c);
        }
    }
    safe
}
