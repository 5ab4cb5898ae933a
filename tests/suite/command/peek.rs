//! The text of `motetrail peek`, from invented findings.

use motetrail::command::peek::facts::{
    DoubtFact, Lines, PeekFacts, TableFacts, TextFacts, Told, Uneven,
};
use motetrail::command::peek::paste::paste;
use motetrail::command::peek::print::print;
use motetrail::settings::{Dialect, Encoding, Separator};
use motetrail::tabular::profile::{ColumnProfile, Profiler};

pub fn printed(facts: &PeekFacts) -> String {
    let mut out = Vec::new();
    print(facts, &mut out).unwrap();
    String::from_utf8(out).unwrap()
}

pub fn profiles(names: &[&str], rows: &[Vec<&str>]) -> Vec<ColumnProfile> {
    let names: Vec<String> = names.iter().map(|name| (*name).to_owned()).collect();
    let mut profiler = Profiler::new(&names);
    rows.iter().for_each(|row| profiler.row(row));
    profiler.finish()
}

pub fn told(what: &str) -> Told {
    Told { what: what.to_owned(), evidence: None }
}

pub fn shown_by(what: &str, evidence: &str) -> Told {
    Told { what: what.to_owned(), evidence: Some(evidence.to_owned()) }
}

fn table(from: u64, to: Option<u64>, columns: usize, rows: u64) -> TableFacts {
    TableFacts { from, to, columns, rows, main: true }
}

/// A clean file with commas.
pub fn clean() -> PeekFacts {
    let rows = vec![vec!["2026-03-05T08:15Z", "pass"], vec!["2026-03-06T08:15Z", "pass"]];
    PeekFacts {
        file: "looks.csv".to_owned(),
        bytes: 1,
        packing: None,
        format: "text".to_owned(),
        sample: None,
        text: Some(TextFacts {
            encoding: told("utf-8"),
            separator: told("comma"),
            quote: told("\""),
            escape: told("a quote doubled"),
            line_ends: told("LF"),
        }),
        before_header: Lines::default(),
        header_rows: 1,
        header_line: Some(1),
        units_row: None,
        tables: vec![table(1, Some(3), 2, 2)],
        footers: Lines::default(),
        uneven: Uneven::default(),
        columns: profiles(&["at", "result"], &rows),
        doubts: Vec::new(),
        settings: paste(&Dialect::default()),
    }
}

/// One with a title, two tables and much that is not certain.
fn dirty() -> PeekFacts {
    let rows: Vec<Vec<&str>> = [
        ["01-02-25", "i.O.", "VB-C00064", "0,32", "ja"],
        ["02-02-25", "n.i.O.", "VB-C00065", "1.250,00", "nein"],
        ["03-02-25", "i.O.", "VB-C00066", "k.A.", ""],
        ["bald", "i.O.", "VB-C00067", "0,4", "ja"],
        ["04-02-25", "i.O.", "VB-C00068", "0,5", "ja"],
    ]
    .map(Vec::from)
    .to_vec();
    let dialect = Dialect {
        separator: Separator::Byte(b';'),
        decimal_mark: b',',
        encoding: Encoding::WINDOWS_1252,
        skip_lines: 1,
        ..Dialect::default()
    };
    PeekFacts {
        file: "exports/care-2025.csv.gz".to_owned(),
        bytes: 4096,
        packing: Some("gzip".to_owned()),
        sample: Some("the first 4 MiB, 5 rows".to_owned()),
        text: Some(TextFacts {
            encoding: shown_by(
                "windows-1252",
                "line 2 has the byte FC, which is ü in windows-1252 and also in windows-1250; no text \
                 in UTF-8 has it there",
            ),
            separator: shown_by("semicolon", "5 in each of 6 lines"),
            line_ends: told("CRLF"),
            ..clean().text.unwrap()
        }),
        before_header: Lines {
            count: 1,
            first: vec![(1, "Thornmoor depot;connector care".to_owned())],
        },
        header_line: Some(2),
        units_row: Some(3),
        tables: vec![table(2, Some(7), 5, 5), TableFacts { main: false, ..table(9, None, 2, 1) }],
        footers: Lines { count: 2, first: vec![(8, "Summe;5".to_owned())] },
        uneven: Uneven { count: 3, first: vec![(5, 4), (6, 1)] },
        columns: profiles(&["Datum", "Ergebnis", "Steckstelle", "Dämpfung dB", "Kappe"], &rows),
        doubts: vec![DoubtFact {
            what: "The encoding is a guess.".to_owned(),
            evidence: "1 byte beyond ASCII".to_owned(),
        }],
        settings: paste(&dialect),
        ..clean()
    }
}

#[test]
fn a_clean_file_is_printed_with_no_doubts_and_nothing_to_paste() {
    let text = r#"looks.csv
  size            1 byte
  packing         none
  format          text
  encoding        utf-8
  separator       comma
  quotes          "
  escapes         a quote doubled
  line ends       LF
  header          line 1
  table           lines 1 to 3: 2 columns, 2 rows
  uneven rows     none

Columns
   #  name                    kind                    filled  contents
   1  at                      times, year first        100 %  %Y-%m-%dT%H:%M%z  "2026-03-05T08:15Z"…
   2  result                  a few words              100 %  "pass" 2

No doubts.

Its [[source]] needs no key for this: all is as by default.
"#;
    assert_eq!(printed(&clean()), text);
}

#[test]
fn a_dirty_file_is_printed_with_every_doubt_and_the_keys_that_differ() {
    let text = r#"exports/care-2025.csv.gz
  size            4096 bytes
  packing         gzip
  format          text
  looked at       the first 4 MiB, 5 rows
  encoding        windows-1252 (line 2 has the byte FC, which is ü in windows-1252 and also in
                  windows-1250; no text in UTF-8 has it there)
  separator       semicolon (5 in each of 6 lines)
  quotes          "
  escapes         a quote doubled
  line ends       CRLF
  before header   1 line
                    1: "Thornmoor depot;connector care"
  header          line 2
  units           line 3
  tables          2
                    lines 2 to 7: 5 columns, 5 rows; this one is read
                    line 9 and on: 2 columns, 1 row
  behind it       2 lines
                    8: "Summe;5"
  uneven rows     3: line 5 has 4 cells, line 6 has 1 cell, ...

Columns
   #  name                    kind                    filled  contents
   1  Datum                   dates, order open        100 %  %d-%m-%y  "01-02-25", "02-02-25"
   2  Ergebnis                a few words              100 %  "i.O." 4, "n.i.O." 1
   3  Steckstelle             names                    100 %  "VB-C00064", "VB-C00065", "VB-C00066"…
   4  Dämpfung dB             decimals with a comma    100 %  "0,32", "1.250,00", "0,4", "0,5"
   5  Kappe                   yes or no                 80 %  "ja" 3, "nein" 1

Doubts
  - The encoding is a guess. (1 byte beyond ASCII)
  - column 1 "Datum": Order of day and month is open (%d-%m-%y or %m-%d-%y or %y-%m-%d): each of 4
    dates can be read day first or month first or year first.
  - column 1 "Datum": Years have two digits: say which hundred years they mean.
  - column 1 "Datum": No time by this: 1 of 5 texts: "bald".
  - column 4 "Dämpfung dB": Perhaps "not given": "k.A." (1).
  - column 4 "Dämpfung dB": Thousands are separated in 1 number, such as "1.250,00": the map must
    name what separates them.

For its [[source]] in the settings
separator = ";"
decimal_mark = ","
encoding = "windows-1252"
skip_lines = 1
"#;
    assert_eq!(printed(&dirty()), text);
}

#[test]
fn a_workbook_without_rows_is_printed_without_what_only_text_has() {
    let book = PeekFacts {
        file: "book.xlsx".to_owned(),
        format: "XLSX workbook, sheet \"Looks\"".to_owned(),
        text: None,
        header_rows: 0,
        header_line: None,
        tables: Vec::new(),
        columns: Vec::new(),
        settings: paste(&Dialect { sheet: Some("Looks".to_owned()), ..Dialect::default() }),
        ..clean()
    };
    let text = r#"book.xlsx
  size            1 byte
  packing         none
  format          XLSX workbook, sheet "Looks"
  header          none; columns are numbered
  table           none
  uneven rows     none

Columns
  none

No doubts.

For its [[source]] in the settings
sheet = "Looks"
"#;
    assert_eq!(printed(&book), text);
}
