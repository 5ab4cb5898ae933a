//! The strict reader under every kind of dialect. Expected rows are worked out by hand.

use std::io::{self, Cursor, Read};

use motetrail::settings::{Dialect, LineEnd, Separator};
use motetrail::tabular::{LONGEST_ROW, RowFault, TableRows, rows_of};
use proptest::prelude::*;

/// Line, cells and fault of a row; of a faulty one its bytes instead of the cells.
type Read1 = (u64, Vec<String>, Option<RowFault>);

fn read_of(dialect: &Dialect, bytes: impl Read) -> Vec<Read1> {
    let mut rows = rows_of(dialect, Box::new(bytes)).unwrap();
    let mut read = Vec::new();
    while let Some(row) = rows.next_row().unwrap() {
        let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
        let cells = match row.fault {
            Some(_) => vec![text(row.bytes)],
            None => row.cells.iter().map(|cell| text(&row.bytes[cell.start..cell.end])).collect(),
        };
        read.push((row.line, cells, row.fault));
    }
    read
}

/// The rows, cells joined by `/`; faulty ones are marked.
fn rows(dialect: &Dialect, text: &str) -> Vec<String> {
    let mark =
        |fault: Option<RowFault>| fault.map_or(String::new(), |fault| format!("{fault:?}: "));
    let read = read_of(dialect, Cursor::new(text));
    read.into_iter().map(|(_, cells, fault)| mark(fault) + &cells.join("/")).collect()
}

fn separated(separator: Separator) -> Dialect {
    Dialect { separator, ..Dialect::default() }
}

fn by_text(text: &str) -> Dialect {
    separated(Separator::Text(text.into()))
}

#[test]
fn blanks_around_quotes_are_no_text() {
    let dialect = Dialect::default();
    assert_eq!(rows(&dialect, "a, \"b, c\" ,d\n"), ["a/b, c/d"]);
    assert_eq!(rows(&dialect, "  \"a\"\r\n b\n"), ["a", " b"]);
    let blank = separated(Separator::Byte(b' '));
    assert_eq!(rows(&blank, "a \"b c\"  d\n"), ["a/b c//d"]);
}

#[test]
fn separators_of_several_bytes_separate() {
    assert_eq!(rows(&by_text("||"), "a||b|c||\"d||e\"||\n"), ["a/b|c/d||e/"]);
    assert_eq!(rows(&by_text("§"), "a§ü§\"b§c\"\n"), ["a/ü/b§c"]);
    assert_eq!(rows(&by_text(", "), "a, \"b, c\", , d,e\n"), ["a/b, c//d,e"]);
}

#[test]
fn a_tab_or_several_blanks_separate_and_indents_do_not() {
    let dialect = separated(Separator::Blanks);
    assert_eq!(rows(&dialect, "  a b   c\td  \r\n e\t\tf \n"), ["a b/c/d", "e//f "]);
}

#[test]
fn an_escaped_character_is_text_in_quotes_and_outside() {
    let dialect = Dialect { escape: Some(b'\\'), ..Dialect::default() };
    assert_eq!(rows(&dialect, "a\\,b,\"c \\\"d\\\", e\"\n"), ["a,b/c \"d\", e"]);
    assert_eq!(rows(&dialect, "a\\\\,b\\\r\nc,\"d\"\"e\"\n"), ["a\\/b\r\nc/d\"e"]);
}

#[test]
fn without_quotes_a_quote_is_text() {
    let dialect = Dialect { quote: None, ..Dialect::default() };
    assert_eq!(rows(&dialect, "\"a,b\"\n'c',d\n"), ["\"a/b\"", "'c'/d"]);
}

#[test]
fn lines_end_as_the_dialect_says() {
    let ending = |line_end| Dialect { line_end, ..Dialect::default() };
    let text = "a,b\rc,\"d\re\"\r\nf,g\nh";
    assert_eq!(rows(&ending(LineEnd::Cr), "a,b\rc,\"d\re\"\rf\ng"), ["a/b", "c/d\re", "f\ng"]);
    assert_eq!(rows(&ending(LineEnd::Any), text), ["a/b", "c/d\re", "f/g", "h"]);
    let lines: Vec<u64> =
        read_of(&ending(LineEnd::Any), Cursor::new(text)).iter().map(|row| row.0).collect();
    assert_eq!(lines, [1, 2, 4, 5]);
    let skipping = Dialect { skip_lines: 2, ..ending(LineEnd::Any) };
    assert_eq!(rows(&skipping, "x\r\ny\rz\n"), ["z"]);
}

#[test]
fn a_stray_quote_costs_its_own_row_though_others_follow() {
    let text = "1,\"a\n2,b\n3,\"c, d\"\n4,e\n";
    let expected = ["OpenQuote: 1,\"a", "2/b", "3/c, d", "4/e"];
    assert_eq!(rows(&Dialect::default(), text), expected);
    let lines: Vec<u64> =
        read_of(&Dialect::default(), Cursor::new(text)).iter().map(|row| row.0).collect();
    assert_eq!(lines, [1, 2, 3, 4]);
    let all = "\"1\",\"a\n\"2\",\"b\"\n\"3\",\"c\"\"\n\"4\",\"d\"\n";
    assert_eq!(
        rows(&Dialect::default(), all),
        ["OpenQuote: \"1\",\"a", "2/b", "OpenQuote: \"3\",\"c\"\"", "4/d"]
    );
}

#[test]
fn a_quote_inside_a_quoted_text_costs_one_row() {
    let text = "1,\"a \"b\" c\"\n2,d\n";
    assert_eq!(rows(&Dialect::default(), text), ["TextAfterQuote: 1,\"a \"b\" c\"", "2/d"]);
}

#[test]
fn a_line_too_long_is_left_out_under_any_line_end() {
    for (line_end, end) in [(LineEnd::Lf, "\n"), (LineEnd::Cr, "\r"), (LineEnd::Any, "\r\n")] {
        let text = format!("a,b{end}{}{end}c,d{end}", "x".repeat(3 * LONGEST_ROW));
        let read = read_of(&Dialect { line_end, ..Dialect::default() }, Cursor::new(text));
        let faults: Vec<_> = read.iter().map(|(line, _, fault)| (*line, *fault)).collect();
        assert_eq!(faults, [(1, None), (2, Some(RowFault::TooLong)), (3, None)]);
    }
}

/// Gives a few bytes at a time.
struct Dripping<'a>(&'a [u8], usize);

impl Read for Dripping<'_> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        let n = self.1.min(out.len()).min(self.0.len());
        out[..n].copy_from_slice(&self.0[..n]);
        self.0 = &self.0[n..];
        Ok(n)
    }
}

fn any_dialect() -> impl Strategy<Value = Dialect> {
    let separators = [
        Separator::Byte(b','),
        Separator::Byte(b' '),
        Separator::Text(", ".into()),
        Separator::Text("||".into()),
        Separator::Blanks,
    ];
    let ends = [LineEnd::Lf, LineEnd::Cr, LineEnd::Any];
    (0..5_usize, 0..3_usize, any::<bool>(), any::<bool>()).prop_map(
        move |(place, end, bare, escaped)| Dialect {
            separator: separators[place].clone(),
            line_end: ends[end],
            quote: (!bare).then_some(b'"'),
            escape: escaped.then_some(b'\\'),
            ..Dialect::default()
        },
    )
}

proptest! {
    #[test]
    fn rows_do_not_depend_on_how_bytes_arrive(
        dialect in any_dialect(),
        text in "[ab,| \t\"\\\\\r\n]{0,60}",
        piece in 1..5_usize,
    ) {
        let whole = read_of(&dialect, Cursor::new(&text));
        prop_assert_eq!(whole, read_of(&dialect, Dripping(text.as_bytes(), piece)));
    }

    #[test]
    fn the_usual_marks_are_cut_the_same_by_either_way(text in "[ab, \"\r\n]{0,60}") {
        // No text holds the escape: nothing differs but the way that the row takes.
        let other = Dialect { escape: Some(1), ..Dialect::default() };
        let usual = read_of(&Dialect::default(), Cursor::new(&text));
        prop_assert_eq!(usual, read_of(&other, Cursor::new(&text)));
    }

    #[test]
    fn every_line_is_in_some_row(dialect in any_dialect(), text in "[ab,|\"\\\\\r\n]{0,60}") {
        let read = read_of(&dialect, Cursor::new(&text));
        let mut lines = read.iter().map(|row| row.0);
        prop_assert!(text.is_empty() || lines.next() == Some(1));
        let letters = |text: &str| text.chars().filter(|c| "ab".contains(*c)).count();
        let kept: usize = read.iter().flat_map(|row| &row.1).map(|cell| letters(cell)).sum();
        prop_assert_eq!(kept, letters(&text));
    }
}
