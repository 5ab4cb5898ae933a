//! How the file of a source is written: what its keys may be, and whether the marks can be told apart.

use crate::settings::place::Place;
use crate::settings::problems::Problems;
use crate::settings::section::Range;

/// Longest separator, bytes.
const LONGEST_SEPARATOR: usize = 4;
/// The word for [`Separator::Blanks`].
const BLANKS: &str = "blanks";
/// Marks between whole numbers and decimals.
pub const DECIMAL_MARKS: &[(&str, u8)] = &[(".", b'.'), (",", b',')];
/// Words for what ends a row.
pub const LINE_ENDS: &[(&str, LineEnd)] =
    &[("lf", LineEnd::Lf), ("cr", LineEnd::Cr), ("any", LineEnd::Any)];
/// Words for what becomes of a short row.
pub const SHORT_ROWS: &[(&str, ShortRows)] =
    &[("quarantine", ShortRows::Quarantine), ("pad", ShortRows::Pad)];

/// What stands between two cells.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Separator {
    /// One ASCII character.
    Byte(u8),
    /// Two to four bytes: several characters, or one beyond ASCII.
    Text(Box<str>),
    /// A tab, or two or more blanks in a row.
    Blanks,
}

/// What ends a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LineEnd {
    /// A line feed, with or without a carriage return before it.
    Lf,
    /// A carriage return alone.
    Cr,
    /// Any of the three.
    Any,
}

/// What becomes of a row with fewer cells than the header.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ShortRows {
    /// It is rejected: nobody knows which cell is missing.
    Quarantine,
    /// The cells that are missing at its end are empty ones.
    Pad,
}

/// A character encoding of the WHATWG Encoding Standard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Encoding(&'static encoding_rs::Encoding);

impl Encoding {
    /// Read as it is.
    pub const UTF_8: Self = Self(encoding_rs::UTF_8);
    /// Western European, the usual one of office programs.
    pub const WINDOWS_1252: Self = Self(encoding_rs::WINDOWS_1252);

    /// The encoding with that label, such as `utf-8`, `windows-1250`, `utf-16le`; of two labels of
    /// one encoding both are known.
    pub fn named(label: &str) -> Option<Self> {
        let known = encoding_rs::Encoding::for_label(label.as_bytes());
        known.filter(|known| *known != encoding_rs::REPLACEMENT).map(Self)
    }

    /// The encoding that a library found.
    pub const fn of(encoding: &'static encoding_rs::Encoding) -> Self {
        Self(encoding)
    }

    /// What decodes it.
    pub const fn coder(self) -> &'static encoding_rs::Encoding {
        self.0
    }

    /// Its name in messages and settings, in small letters.
    pub fn name(self) -> String {
        self.0.name().to_ascii_lowercase()
    }
}

/// What may stand between two cells.
pub struct Between;

impl Range for Between {
    type Typed = String;
    type Value = Separator;

    fn read(&self, typed: &String, place: &Place, problems: &mut Problems) -> Separator {
        let cuts_rows = typed.contains(['\r', '\n', '\0']);
        match typed.as_bytes() {
            _ if typed == BLANKS => return Separator::Blanks,
            [byte] if byte.is_ascii() && !cuts_rows => return Separator::Byte(*byte),
            [_, _, ..] if typed.len() <= LONGEST_SEPARATOR && !cuts_rows => {
                return Separator::Text(typed.as_str().into());
            }
            _ => {}
        }
        problems.add(place, format!("found {typed:?}, expected {}", self.text()));
        Separator::Byte(b',')
    }

    fn text(&self) -> String {
        format!(
            "one to {LONGEST_SEPARATOR} bytes without a line end, or {BLANKS:?} for columns set \
             apart by blanks"
        )
    }

    fn written(&self, value: &Separator) -> String {
        match value {
            Separator::Byte(byte) => format!("{:?}", char::from(*byte).to_string()),
            Separator::Text(text) => format!("{text:?}"),
            Separator::Blanks => format!("{BLANKS:?}"),
        }
    }
}

/// What a mark is, in the words of messages.
const A_MARK: &str = "one ASCII character, no line end";

/// A mark of one character; whether an empty text stands for none.
pub struct Mark(pub bool);

impl Range for Mark {
    type Typed = String;
    type Value = Option<u8>;

    fn read(&self, typed: &String, place: &Place, problems: &mut Problems) -> Option<u8> {
        match typed.as_bytes() {
            [] if self.0 => None,
            [byte] if byte.is_ascii() && !b"\r\n\0".contains(byte) => Some(*byte),
            _ => {
                problems.add(place, format!("found {typed:?}, expected {A_MARK}"));
                None
            }
        }
    }

    fn text(&self) -> String {
        let none = if self.0 { ", or \"\" for none" } else { "" };
        format!("{A_MARK}{none}")
    }

    fn written(&self, value: &Option<u8>) -> String {
        value.map(|byte| format!("{:?}", char::from(byte).to_string())).unwrap_or_default()
    }
}

/// A character encoding by its label.
pub struct Label;

impl Range for Label {
    type Typed = String;
    type Value = Encoding;

    fn read(&self, typed: &String, place: &Place, problems: &mut Problems) -> Encoding {
        Encoding::named(typed).unwrap_or_else(|| {
            problems.add(place, format!("found {typed:?}, expected {}", self.text()));
            Encoding::UTF_8
        })
    }

    fn text(&self) -> String {
        "an encoding such as \"utf-8\", \"windows-1252\" or \"utf-16le\"".to_owned()
    }

    fn written(&self, value: &Encoding) -> String {
        format!("{:?}", value.name())
    }
}

/// Notes marks that cannot be told from one another.
pub fn apart(
    separator: &Separator,
    quote: Option<u8>,
    escape: Option<u8>,
    place: &Place,
    problems: &mut Problems,
) {
    let first = match separator {
        Separator::Byte(byte) => Some(*byte),
        Separator::Text(text) => text.bytes().next(),
        Separator::Blanks => Some(b' '),
    };
    let shown = |byte: u8| format!("{:?}", char::from(byte).to_string());
    for (key, mark) in [("quote", quote), ("escape", escape)] {
        if let Some(byte) = mark.filter(|byte| Some(*byte) == first) {
            let found = format!("found {}, which is the separator too", shown(byte));
            problems.add(&place.key(key), found);
        }
    }
    if let Some(byte) = escape.filter(|byte| Some(*byte) == quote) {
        let found = format!("found {}, which is the quote too", shown(byte));
        let advice = "; leave `escape` out where doubled quotes stand for one";
        problems.add(&place.key("escape"), found + advice);
    }
}
