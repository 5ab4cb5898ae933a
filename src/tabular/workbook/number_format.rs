//! What a number format shows of a serial date: the day, the time of day, or both.
//!
//! Source: ECMA-376 part 1, 18.8.31 (number formats) and 18.8.30 (built-in ones).

/// What a format shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shows {
    Day,
    Time,
    Both,
}

/// What a date format shows; `id` tells the built-in formats whose code depends on the language.
pub fn shows(code: &str, id: Option<u32>) -> Shows {
    match id {
        Some(18..=21 | 32..=35 | 45 | 47 | 55 | 56) => return Shows::Time,
        Some(14..=17 | 27..=31 | 36 | 50..=54 | 57 | 58) => return Shows::Day,
        Some(22) => return Shows::Both,
        _ => {}
    }
    let letters = letters(code);
    let has = |wanted: &[u8]| letters.iter().any(|letter| wanted.contains(letter));
    // `m` is a month unless there are only parts of a time around it.
    let time = has(b"hs");
    let day = has(b"ydeg") || (has(b"m") && !time);
    match (day, time) {
        (true, true) => Shows::Both,
        (false, true) => Shows::Time,
        _ => Shows::Day,
    }
}

/// The letters of the first part of a code that stand for something, in small letters; text in
/// quotes, after a backslash or in brackets does not.
fn letters(code: &str) -> Vec<u8> {
    let mut found = Vec::new();
    let (mut quoted, mut bracket) = (false, false);
    let mut bytes = code.bytes();
    while let Some(byte) = bytes.next() {
        match byte {
            b'"' => quoted = !quoted,
            _ if quoted => {}
            b'\\' | b'_' | b'*' => {
                bytes.next();
            }
            b'[' => bracket = true,
            b']' => bracket = false,
            _ if bracket => {}
            b';' => break,
            letter if letter.is_ascii_alphabetic() => found.push(letter.to_ascii_lowercase()),
            _ => {}
        }
    }
    found
}
