//! Texts that would harm a terminal, the page or the settings, in what `motetrail peek` prints.

use motetrail::command::peek::facts::{DoubtFact, Lines, PeekFacts, TextFacts};
use motetrail::command::peek::paste::paste;
use motetrail::settings::{Dialect, Encoding, LineEnd, Separator, ShortRows};
use proptest::prelude::*;

use super::peek::{clean, printed, profiles, shown_by, told};

/// Findings whose every text is this one.
fn filled_with(text: &str) -> PeekFacts {
    let lines = Lines { count: 1, first: vec![(1, text.to_owned())] };
    let dialect = Dialect {
        sheet: Some(text.to_owned()),
        nulls: vec![text.to_owned()],
        ..Dialect::default()
    };
    PeekFacts {
        file: text.to_owned(),
        format: text.to_owned(),
        text: Some(TextFacts {
            encoding: shown_by(text, text),
            separator: told(text),
            ..clean().text.unwrap()
        }),
        before_header: lines.clone(),
        footers: lines,
        columns: profiles(&[text, text], &[vec![text, "n/a"], vec![text, text]]),
        doubts: vec![DoubtFact { what: text.to_owned(), evidence: text.to_owned() }],
        settings: paste(&dialect),
        ..clean()
    }
}

#[test]
fn nothing_of_a_file_reaches_the_terminal_raw() {
    // Colours, a title, a cleared screen (ECMA-48), 8-bit CSI, a turned direction, a hidden blank.
    let nasty =
        "\u{1b}[31mred\u{1b}]0;title\u{7}\u{1b}[2J\u{9b}H\u{202e}txt\u{200b}\r\n\t\u{7f}\0\u{feff}";
    let text = printed(&filled_with(nasty));
    assert!(text.chars().all(|c| c == '\n' || !c.is_control()), "{text:?}");
    for hidden in ['\u{202e}', '\u{200b}', '\u{feff}'] {
        assert!(!text.contains(hidden));
    }
    assert!(text.contains("\\u{1b}[31mred"), "{text}");
    assert!(text.contains("\\u{202e}txt\\u{200b}\\r\\n\\t\\u{7f}\\0"), "{text}");
    // A cell cannot pretend to be a line of the report: it stands in quotes, and its own are escaped.
    let quoted = printed(&filled_with("x\"\nNo doubts."));
    assert!(!quoted.lines().any(|line| line == "No doubts."), "{quoted}");
    assert!(quoted.contains(r#""x\"\nNo doubts.""#), "{quoted}");
}

#[test]
fn keys_to_paste_are_toml_that_says_the_same_whatever_the_names_are() {
    let sheet = "a\"b\\c\nd\u{1b}[31m]\n[[source]] # é";
    let dialect = Dialect {
        separator: Separator::Text("||".into()),
        quote: None,
        escape: Some(b'\\'),
        line_end: LineEnd::Any,
        decimal_mark: b',',
        thousands: None,
        encoding: Encoding::named("utf-16le").unwrap(),
        skip_lines: 3,
        header_rows: 2,
        units_row: true,
        short_rows: ShortRows::Pad,
        sheet: Some(sheet.to_owned()),
        nulls: vec!["-".to_owned(), "\"".to_owned()],
    };
    let lines = paste(&dialect);
    assert!(lines.iter().all(|line| !line.contains(char::is_control)));
    let parsed: toml::Table = lines.join("\n").parse().unwrap();
    let expected: toml::Table = r#"
        separator = "||"
        quote = ""
        escape = '\'
        line_end = "any"
        decimal_mark = ","
        encoding = "utf-16le"
        skip_lines = 3
        header_rows = 2
        units_row = true
        short_rows = "pad"
        sheet = "a\"b\\c\nd\u001b[31m]\n[[source]] # é"
        nulls = ["-", '"']
    "#
    .parse()
    .unwrap();
    assert_eq!(parsed, expected);
    for (separator, written) in [
        (Separator::Byte(b'\t'), r#"separator = "\t""#),
        (Separator::Blanks, r#"separator = "blanks""#),
        (Separator::Byte(b'|'), r#"separator = "|""#),
    ] {
        assert_eq!(paste(&Dialect { separator, ..Dialect::default() }), [written]);
    }
}

/// Columns of a terminal that a line takes, counting each letter beyond Latin as two.
fn widest(text: &str) -> usize {
    let wide = |c: char| if u32::from(c) >= 0x1100 && c.is_alphabetic() { 2 } else { 1 };
    text.lines().map(|line| line.chars().map(wide).sum()).max().unwrap_or(0)
}

#[test]
fn no_line_is_wider_than_a_hundred_columns_but_those_to_paste() {
    let long = "接続点の検査".repeat(60);
    for text in [long.as_str(), &"word ".repeat(200), &"\u{1b}".repeat(300), &"a".repeat(1000)] {
        let facts = PeekFacts { settings: Vec::new(), ..filled_with(text) };
        let printed = printed(&facts);
        assert!(widest(&printed) <= 100, "{}\n{printed}", widest(&printed));
        assert!(widest(&printed) > 95);
    }
}

proptest! {
    #[test]
    fn any_text_is_printed_within_the_page_and_harmless(text in "(\\PC|[\\x00-\\x1f\\x7f-\\xa0]|[\u{2000}-\u{206f}]){0,80}") {
        let facts = PeekFacts { settings: Vec::new(), ..filled_with(&text) };
        let printed = printed(&facts);
        prop_assert!(printed.chars().all(|c| c == '\n' || !c.is_control()));
        prop_assert!(printed.lines().all(|line| line.chars().count() <= 100));
        let line = paste(&Dialect { sheet: Some(text.clone()), ..Dialect::default() }).remove(0);
        let parsed: toml::Table = line.parse().unwrap();
        prop_assert_eq!(parsed["sheet"].as_str(), Some(text.as_str()));
    }
}

#[test]
fn on_a_terminal_the_table_holds_nothing_that_it_would_obey() {
    use std::io::Write;
    let cells = "a,\u{1b}[31mb,\u{9b}c,d\u{7f},\u{fc}\u{20ac}\u{1f600}\te\r\n".as_bytes();
    let bytes = [cells, b"f\xffg\xe2\x82"].concat();
    let expected = "a,\u{fffd}[31mb,\u{fffd}c,d\u{fffd},\u{fc}\u{20ac}\u{1f600}\te\r\nf\u{fffd}g";
    for piece in 1..bytes.len() {
        let mut told = Vec::new();
        let mut out = motetrail::command::terminal::Printable::new(&mut told);
        bytes.chunks(piece).for_each(|piece| out.write_all(piece).unwrap());
        out.flush().unwrap();
        assert_eq!(String::from_utf8(told).unwrap(), expected, "in pieces of {piece}");
    }
}
