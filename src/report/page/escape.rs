//! Text from records, made harmless for the page.

/// `text` with everything that could be markup or break out of an attribute written as a character reference, and
/// control characters (line breaks apart, which become spaces) left out.
pub(in crate::report) fn html(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            '\n' | '\r' | '\t' => safe.push(' '),
            c if c.is_control() || turns_text(c) => {}
            c => safe.push(c),
        }
    }
    safe
}

/// Marks that change the direction of what follows them (Unicode 15, UAX 9): a name must not turn its neighbours.
fn turns_text(c: char) -> bool {
    matches!(c, '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}')
}
