//! What the text of one cell looks like, as coarsely as the shape of a table needs.

/// What a cell looks like.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    Empty,
    Number,
    /// A date, a time or both.
    When,
    /// A web or mail address.
    Link,
    /// One token with a digit in it, such as `PL-R14-10`.
    Code,
    /// One token without digits.
    Word,
    /// Several words.
    Text,
    /// Holds what usually separates or quotes.
    Odd,
    /// The row ends before.
    Missing,
}

impl Kind {
    /// Every kind, in the order of their codes.
    pub const ALL: [Self; 9] = [
        Self::Empty,
        Self::Number,
        Self::When,
        Self::Link,
        Self::Code,
        Self::Word,
        Self::Text,
        Self::Odd,
        Self::Missing,
    ];

    /// Words and texts are one kind to a column.
    pub fn broad(self) -> Self {
        match self {
            Self::Text | Self::Odd => Self::Word,
            other => other,
        }
    }

    /// Hardly ever the name of a column.
    pub fn is_strict(self) -> bool {
        matches!(self, Self::Number | Self::When | Self::Link)
    }

    /// Of the text of a cell.
    pub fn of(text: &[u8]) -> Self {
        let text = text.trim_ascii();
        if text.is_empty() {
            Self::Empty
        } else if is_number(text) {
            Self::Number
        } else if is_when(text) {
            Self::When
        } else if is_link(text) {
            Self::Link
        } else if is_odd(text) {
            Self::Odd
        } else if text.contains(&b' ') {
            Self::Text
        } else if text.iter().any(u8::is_ascii_digit) {
            Self::Code
        } else {
            Self::Word
        }
    }
}

/// Digits with a sign, a decimal mark, marks between thousands, an exponent or a per cent sign.
pub fn is_number(text: &[u8]) -> bool {
    if !text.first().is_some_and(|first| matches!(first, b'0'..=b'9' | b'+' | b'-' | b'.' | b',')) {
        return false;
    }
    let text = text.strip_suffix(b"%").unwrap_or(text).trim_ascii_end();
    let text = match text {
        [b'+' | b'-', rest @ ..] => rest,
        _ => text,
    };
    let mantissa = match text.iter().position(|byte| matches!(byte, b'e' | b'E')) {
        Some(at) if at > 0 && is_exponent(&text[at + 1..]) => &text[..at],
        _ => text,
    };
    let digits = mantissa.iter().filter(|byte| byte.is_ascii_digit()).count();
    let rest = mantissa.iter().filter(|byte| !byte.is_ascii_digit());
    digits > 0 && is_grouped(mantissa) && rest.clone().all(|byte| b".,' ".contains(byte))
}

fn is_exponent(text: &[u8]) -> bool {
    let digits = text.strip_prefix(b"-").or(text.strip_prefix(b"+")).unwrap_or(text);
    !digits.is_empty() && digits.len() <= 3 && digits.iter().all(u8::is_ascii_digit)
}

/// At most one mark, or groups of three digits behind every mark but a last one of another kind.
fn is_grouped(text: &[u8]) -> bool {
    let mut marks = text.iter().filter(|byte| !byte.is_ascii_digit());
    let (Some(&first), Some(&last)) = (marks.next(), marks.next_back()) else {
        return text.iter().all(|byte| byte.is_ascii_digit() || b".,".contains(byte));
    };
    let mut groups = text.split(|byte| !byte.is_ascii_digit());
    let leading = groups.next().map_or(0, <[u8]>::len);
    // The last mark may stand before a fraction if it differs from those before it.
    if last != first {
        groups.next_back();
    }
    let same = marks.all(|mark| *mark == first);
    same && (1..=3).contains(&leading) && groups.all(|group| group.len() == 3)
}

/// First letters of the names of months in the languages of the trade.
#[rustfmt::skip]
const MONTHS: [&str; 42] = [
    "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec", "mär",
    "mrz", "mai", "okt", "dez", "ene", "abr", "ago", "dic", "fév", "avr", "jui", "aoû", "déc",
    "gen", "mag", "giu", "lug", "set", "ott", "mrt", "mei", "sty", "lut", "kwi", "maj", "cze",
    "lip", "wrz", "paź",
];
/// Other words in dates and times.
const OTHERS: [&str; 11] = ["T", "Z", "h", "am", "pm", "a", "p", "m", "UTC", "GMT", "CET"];

/// Groups of digits as dates and times have them, with a month's name, a zone or a half of the day.
pub fn is_when(text: &[u8]) -> bool {
    if text.len() < 4 || text.len() > 40 || !text.iter().any(u8::is_ascii_digit) {
        return false;
    }
    let Ok(text) = std::str::from_utf8(text) else {
        return false;
    };
    let (mut digits, mut groups, mut months, mut colons) = ([0; 10], 0, 0, 0);
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let same = |c: char| {
            c.is_ascii_digit() == first.is_ascii_digit()
                && c.is_alphabetic() == first.is_alphabetic()
        };
        let end = rest.find(|c| !same(c)).unwrap_or(rest.len());
        let (token, behind) = rest.split_at(end);
        if first.is_ascii_digit() {
            let Some(group) = digits.get_mut(groups) else { return false };
            (*group, groups) = (token.len(), groups + 1);
        } else if first.is_alphabetic() {
            let Some(month) = word_of_time(token) else { return false };
            months += usize::from(month);
        } else if token.len() <= 2 && token.bytes().all(|byte| b"-/.: +,".contains(&byte)) {
            colons += usize::from(token == ":");
        } else {
            return false;
        }
        rest = behind;
    }
    let day = &digits[..groups.min(3 - months.min(1))];
    let date = groups + months >= 3
        && months <= 1
        && day.iter().all(|digits| *digits <= 4)
        && (day.contains(&4) || day.last() == Some(&2));
    let time = colons > 0 && groups <= 4 && digits[0] <= 2 && digits[1] == 2;
    (date || time) && (colons > 0 || groups + months == 3)
}

/// Whether a word of a date or time is a month; none if it is no such word.
fn word_of_time(word: &str) -> Option<bool> {
    if OTHERS.iter().any(|other| word.eq_ignore_ascii_case(other)) {
        return Some(false);
    }
    if word.len() < 3 || word.len() > 16 {
        return None;
    }
    let mut letters = word.chars().flat_map(char::to_lowercase);
    let three = [letters.next()?, letters.next()?, letters.next()?];
    MONTHS.iter().any(|month| month.chars().eq(three)).then_some(true)
}

fn is_link(text: &[u8]) -> bool {
    if text.contains(&b' ') {
        return false;
    }
    let mail = text.iter().position(|byte| *byte == b'@');
    text.starts_with(b"www.")
        || text.windows(3).any(|three| three == b"://")
        || mail.is_some_and(|at| at > 0 && text[at..].contains(&b'.'))
}

/// Holds what separates in other files, or begins or ends with a quote.
fn is_odd(text: &[u8]) -> bool {
    let edge = |byte: Option<&u8>| byte.is_some_and(|byte| b"\",;|".contains(byte));
    edge(text.first())
        || edge(text.last())
        || text.iter().any(|byte| matches!(byte, b';' | b'|' | 0..=31))
        || (text.first() == Some(&b'\'') && text.len() > 1 && text.last() == Some(&b'\''))
}
