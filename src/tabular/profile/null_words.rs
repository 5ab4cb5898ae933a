//! Texts that people and programs write where nothing is given.

/// In small letters, without blanks. The words of eight languages are everyday abbreviations for "not
/// given" and "not known"; those behind `#` are the error texts of spreadsheets [from memory].
const NULL_WORDS: [&str; 46] = [
    "-",
    "--",
    "---",
    "–",
    "—",
    "?",
    "??",
    "???",
    ".",
    "..",
    "-/-",
    "./.",
    "n/a",
    "na",
    "n.a.",
    "n.a",
    "nan",
    "null",
    "(null)",
    "\\n",
    "nil",
    "none",
    "(none)",
    "undefined",
    "k.a.",
    "k.a",
    "keineangabe",
    "n.b.",
    "s.o.",
    "s/o",
    "s.d.",
    "n.d.",
    "n.c.",
    "n/d",
    "n.v.t.",
    "nvt",
    "b.d.",
    "brak",
    "#n/a",
    "#nv",
    "#value!",
    "#wert!",
    "#ref!",
    "#bezug!",
    "#div/0!",
    "#name?",
];
/// No such text is longer, bytes.
const LONGEST: usize = 16;

/// Whether a text seems to mean "not given".
pub fn is_null_word(text: &str) -> bool {
    // Most cells end here, before a copy is made.
    if text.len() > LONGEST || !text.starts_with(is_first) {
        return false;
    }
    let plain: String =
        text.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect();
    NULL_WORDS.contains(&plain.as_str())
}

/// Whether a null word begins with it.
fn is_first(c: char) -> bool {
    NULL_WORDS.iter().any(|word| word.starts_with(c.to_ascii_lowercase()))
}
