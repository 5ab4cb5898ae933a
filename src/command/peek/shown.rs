//! Texts of a file on a terminal: nothing in them may move the cursor, change colours, turn the
//! direction of writing or hide.

/// Columns of the printed page.
pub const PAGE: usize = 100;

/// The text with every character that is not plainly visible as its number, `\u{1b}`, and the usual
/// short forms `\n`, `\t`, `\r`.
pub fn shown(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        if is_hidden(c) {
            safe.extend(c.escape_debug());
        } else {
            safe.push(c);
        }
    }
    safe
}

/// The text in quotes, so that its ends can be seen; its own quotes and backslashes are escaped.
pub fn quoted(text: &str) -> String {
    let mut safe = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => safe.extend(['\\', c]),
            _ => safe.push_str(&shown(c.encode_utf8(&mut [0; 4]))),
        }
    }
    safe.push('"');
    safe
}

/// Whether a character shows nothing, or not itself: controls, marks of direction, joiners, blanks of
/// other widths, accents without a letter, and what Unicode has not assigned.
pub fn is_hidden(c: char) -> bool {
    !matches!(c, ' '..='~') && c.escape_debug().len() > 1
}

/// Columns that a text takes: two for each letter of the wide scripts and each picture.
pub fn width(text: &str) -> usize {
    text.chars().map(char_width).sum()
}

/// Ranges of Unicode's East Asian Width W and F, joined across gaps, so that a text is never wider
/// than it is taken to be (Unicode Standard Annex 11) [ranges from memory].
fn char_width(c: char) -> usize {
    let wide = matches!(u32::from(c),
        0x1100..=0x115f | 0x231a..=0x232a | 0x23e9..=0x23f3 | 0x25fd..=0x27bf | 0x2b1b..=0x2b55
        | 0x2e80..=0xa4cf | 0xa960..=0xa97f | 0xac00..=0xd7a3 | 0xf900..=0xfaff | 0xfe10..=0xfe6f
        | 0xff01..=0xff60 | 0xffe0..=0xffe6 | 0x16fe0..=0x18dff | 0x1b000..=0x1b2ff
        | 0x1f004..=0x1faff | 0x20000..=0x3fffd);
    if wide { 2 } else { 1 }
}

/// A harmless text cut to so many columns; it ends with `…` where something is left out.
pub fn fitted(text: &str, columns: usize) -> String {
    if width(text) <= columns {
        return text.to_owned();
    }
    let mut taken = 0;
    let kept = text.chars().take_while(|c| {
        taken += char_width(*c);
        taken < columns
    });
    kept.chain(['…']).collect()
}

/// A harmless text cut or filled with blanks to so many columns.
pub fn padded(text: &str, columns: usize) -> String {
    let mut text = fitted(text, columns);
    text.extend(std::iter::repeat_n(' ', columns - width(&text)));
    text
}

/// A harmless text in lines of at most so many columns, broken at blanks, or within words that no line
/// holds.
pub fn wrapped(text: &str, columns: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in text.split(' ') {
        if !line.is_empty() && width(&line) + 1 + width(word) > columns {
            lines.push(std::mem::take(&mut line));
        } else if !line.is_empty() {
            line.push(' ');
        }
        for c in word.chars() {
            if width(&line) + char_width(c) > columns {
                lines.push(std::mem::take(&mut line));
            }
            line.push(c);
        }
    }
    lines.push(line);
    lines
}
