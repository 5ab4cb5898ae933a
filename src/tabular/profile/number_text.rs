//! What kind of number a text is.

/// A number as written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Number {
    /// Digits alone; its value if 64 bits hold it, and whether zeros lead.
    Whole { value: Option<i64>, padded: bool },
    /// With a decimal mark; `either` if it could also separate thousands (`1.234`).
    Decimal { mark: u8, either: bool },
    /// With separators of thousands, and the decimal mark that they leave, if that is certain.
    Grouped { mark: Option<u8>, by: char },
    /// With a decimal mark and an exponent.
    Exponent { mark: u8 },
}

/// The number that a text is; none if it is none.
pub fn number(text: &str) -> Option<Number> {
    let digits = text.strip_prefix(['-', '+']).unwrap_or(text);
    if let Some((mantissa, exponent)) = digits.split_once(['e', 'E']) {
        let exponent = exponent.strip_prefix(['-', '+']).unwrap_or(exponent);
        let whole = !exponent.is_empty() && all_digits(exponent);
        return match plain(mantissa)? {
            Number::Decimal { mark, .. } if whole => Some(Number::Exponent { mark }),
            _ => None,
        };
    }
    match plain(digits)? {
        Number::Whole { padded, .. } => Some(Number::Whole { value: text.parse().ok(), padded }),
        other => Some(other),
    }
}

fn all_digits(text: &str) -> bool {
    text.bytes().all(|byte| byte.is_ascii_digit())
}

fn is_separator(c: char) -> bool {
    matches!(c, '.' | ',' | '\'' | '’' | ' ' | '\u{a0}' | '\u{202f}')
}

/// A number without sign and exponent.
fn plain(text: &str) -> Option<Number> {
    if !text.ends_with(|c: char| c.is_ascii_digit()) {
        return None;
    }
    let mut marks = text.chars().filter(|c| !c.is_ascii_digit());
    let Some(first) = marks.next() else {
        let padded = text.len() > 1 && text.starts_with('0');
        return Some(Number::Whole { value: None, padded });
    };
    let (mut last, mut count) = (first, 1);
    for mark in marks {
        if last != first {
            return None;
        }
        (last, count) = (mark, count + 1);
    }
    if !is_separator(first) || !is_separator(last) {
        return None;
    }
    let (head, tail) = text.rsplit_once(last)?;
    match (count, first == last) {
        (1, _) => single(head, last, tail),
        (_, true) => (grouped(head, first) && tail.len() == 3)
            .then(|| Number::Grouped { mark: other_mark(first), by: first }),
        (_, false) => grouped(head, first)
            .then_some(decimal_mark(last)?)
            .map(|mark| Number::Grouped { mark: Some(mark), by: first }),
    }
}

/// A number with one mark in it.
fn single(head: &str, mark: char, tail: &str) -> Option<Number> {
    let like_thousands = (1..=3).contains(&head.len()) && tail.len() == 3;
    match decimal_mark(mark) {
        Some(mark) => {
            Some(Number::Decimal { mark, either: like_thousands && !head.starts_with('0') })
        }
        None => like_thousands.then_some(Number::Grouped { mark: None, by: mark }),
    }
}

/// Whether a text is one to three digits, then groups of three.
fn grouped(text: &str, mark: char) -> bool {
    let mut groups = text.split(mark);
    let first = groups.next().is_some_and(|group| (1..=3).contains(&group.len()));
    first && groups.all(|group| group.len() == 3)
}

fn decimal_mark(mark: char) -> Option<u8> {
    match mark {
        '.' => Some(b'.'),
        ',' => Some(b','),
        _ => None,
    }
}

/// The decimal mark of numbers whose thousands are separated by this one.
fn other_mark(group: char) -> Option<u8> {
    match group {
        '.' => Some(b','),
        ',' => Some(b'.'),
        _ => None,
    }
}
