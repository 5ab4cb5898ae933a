//! Small shapes of text tables as they come in daily life. Every case states its whole file; what
//! is expected is what a person reads in it.

use std::io::Cursor;

use motetrail::settings::{LineEnd, Separator, ShortRows};
use motetrail::tabular::detect::{Detected, Sample, detect, write_table};
use motetrail::tabular::{Cells, TableRows, rows_of};
use proptest::prelude::*;

fn of(bytes: &[u8]) -> Detected {
    detect(&Sample { head: bytes.to_vec(), whole: true, tail: None })
}

/// Header and rows, cells joined by `/`.
fn read(text: &str) -> Vec<String> {
    let (detected, mut out) = (of(text.as_bytes()), Vec::new());
    write_table(&detected, detected.main, Box::new(Cursor::new(text)), &mut out).unwrap();
    let rows = super::polluted_score::parsed(&String::from_utf8(out).unwrap());
    rows.iter().map(|row| row.join("/")).collect()
}

fn separator(text: &str) -> Separator {
    of(text.as_bytes()).dialect.separator
}

#[test]
fn a_title_with_separators_in_it_is_no_header() {
    let text = "Depot north, east, west\nid,at,loss\nA1,2025-01-02,0.3\nA2,2025-01-03,0.4\n";
    assert_eq!(read(text), ["id/at/loss", "A1/2025-01-02/0.3", "A2/2025-01-03/0.4"]);
    let text = "Depot;north\nid;at;loss;by\nA1;02.01.2025;0,3;Ada\nA2;03.01.2025;0,4;Bo\n";
    assert_eq!(read(text)[0], "id/at/loss/by");
    assert_eq!(of(text.as_bytes()).preamble[0].text, "Depot;north");
}

#[test]
fn commas_in_numbers_are_decimal_marks_where_semicolons_separate() {
    let text = "a;b;c\n1,5;2,25;3,0\n4,5;0,75;1,5\n";
    assert_eq!(read(text), ["a/b/c", "1,5/2,25/3,0", "4,5/0,75/1,5"]);
    assert_eq!(of(text.as_bytes()).dialect.decimal_mark, b',');
    let text = "a;b\n1.234,50;x\n2.000,75;y\n";
    assert_eq!(of(text.as_bytes()).dialect.decimal_mark, b',');
    assert_eq!(of(b"a;b\n1,234.50;x\n2.75;y\n").dialect.decimal_mark, b'.');
}

#[test]
fn one_column_stays_one() {
    assert_eq!(read("id\nA1\nA2\nA3\n"), ["id", "A1", "A2", "A3"]);
    let names = "name\nAda Lorne\nNils Torvane\nVera Stolt\n";
    assert_eq!(read(names), ["name", "Ada Lorne", "Nils Torvane", "Vera Stolt"]);
    let times = "time\n2025-01-02 10:00\n2025-01-02 10:05\n2025-01-02 10:09\n";
    assert_eq!(read(times)[1], "2025-01-02 10:00");
    let notes = "note\ncleaned, then dried\nfine\nscratch, deep, at the rim\nnothing to say\n";
    assert_eq!(read(notes)[3], "scratch, deep, at the rim");
}

#[test]
fn quotes_around_every_cell_go() {
    let text = "\"id\",\"at\",\"note\"\n\"1\",\"2025-01-02\",\"a \"\"b\"\", c\"\n\"2\",\"2025-01-03\",\"\"\n";
    assert_eq!(read(text), ["id/at/note", "1/2025-01-02/a \"b\", c", "2/2025-01-03/"]);
}

#[test]
fn an_empty_column_stays_a_column() {
    assert_eq!(read("a,b,c\n1,,x\n2,,y\n3,,z\n"), ["a/b/c", "1//x", "2//y", "3//z"]);
    assert_eq!(read("a;b;c\n1;x;\n2;y;\n3;z;\n"), ["a/b/c", "1/x/", "2/y/", "3/z/"]);
}

#[test]
fn tables_of_two_by_two_are_tables() {
    assert_eq!(read("a,b\n1,2\n"), ["a/b", "1/2"]);
    assert_eq!(read("port;loss\nA1;0,3"), ["port/loss", "A1/0,3"]);
    assert_eq!(read("name\tsite\nAda\tNorth\n"), ["name/site", "Ada/North"]);
}

#[test]
fn cells_that_look_like_json_are_cells() {
    let text = "id;data;n\n1;{\"a\": 1, \"b\": [2, 3]};5\n2;{\"a\": 4, \"b\": []};6\n";
    assert_eq!(read(text)[1], "1/{\"a\": 1, \"b\": [2, 3]}/5");
    let text = "id,data\n1,\"{\"\"a\"\": 1, \"\"b\"\": 2}\"\n2,\"{\"\"a\"\": 3}\"\n";
    assert_eq!(read(text)[1], "1/{\"a\": 1, \"b\": 2}");
}

#[test]
fn separators_of_other_files_inside_quotes_do_not_separate() {
    let text = "id,note,n\n1,\"a; b; c\",5\n2,\"d; e; f\",6\n3,\"g; h; i\",7\n";
    assert_eq!(separator(text), Separator::Byte(b','));
    let text = "id;tags;n\n1;a|b|c;5\n2;d|e|f;6\n3;g|h|i;7\n";
    assert_eq!(separator(text), Separator::Byte(b';'));
}

#[test]
fn apostrophes_in_texts_are_no_quotes() {
    let text = "id,note\n1,it's fine\n2,'tis late\n3,don't\n4,Ada's and Bo's\n";
    assert_eq!(read(text)[2], "2/'tis late");
    assert_eq!(of(text.as_bytes()).dialect.quote, Some(b'"'));
}

#[test]
fn a_separator_at_the_end_of_each_line_makes_no_column() {
    let text = "a;b;c;\n1;2;3;\n4;5;6;\n";
    assert_eq!(read(text), ["a/b/c", "1/2/3", "4/5/6"]);
    assert!(of(text.as_bytes()).tables[0].trailing_separator);
    assert_eq!(read("a;b;c\n1;2;3;\n4;5;6;\n"), ["a/b/c", "1/2/3", "4/5/6"]);
}

#[test]
fn a_first_line_that_names_the_separator_is_followed() {
    let text = "sep=;\r\nid;note\r\n1;a, b\r\n2;c, d\r\n";
    assert_eq!(read(text), ["id/note", "1/a, b", "2/c, d"]);
    assert_eq!(of(text.as_bytes()).dialect.skip_lines, 1);
}

#[test]
fn a_row_of_units_is_no_record() {
    let text = "at,loss,length\n,[dB],[m]\n2025-01-02,0.3,12\n2025-01-03,0.4,15\n";
    let detected = of(text.as_bytes());
    assert_eq!((detected.units_row, detected.dialect.units_row), (Some(2), true));
    assert_eq!(read(text), ["at/loss/length", "2025-01-02/0.3/12", "2025-01-03/0.4/15"]);
    assert_eq!(
        of(b"at;t;p\n;\xC2\xB0C;hPa\n1.1.2025;3,5;998\n2.1.2025;4,5;999\n").units_row,
        Some(2)
    );
}

#[test]
fn totals_and_notes_at_the_end_are_no_records() {
    let text = "site;n;cost\nNorth;3;10\nSouth;4;20\nWest;1;5\nTotal;8;35\n";
    assert_eq!(read(text).last().unwrap(), "West/1/5");
    assert_eq!(of(text.as_bytes()).footers[0].line, Some(5));
    let text = "site,n,cost\nNorth,3,10\nSouth,4,20\n\nSource: desk\n";
    assert_eq!(read(text).len(), 3);
}

#[test]
fn columns_set_apart_by_blanks_are_columns() {
    let text = "Port      Loss   Verdict\nA-01      0.31   pass at once\nA-02      0.40   fail\nB-117     0.2    pass\n";
    assert_eq!(separator(text), Separator::Blanks);
    assert_eq!(read(text)[1], "A-01/0.31/pass at once");
}

#[test]
fn colons_of_times_do_not_separate() {
    let text = "time,n\n10:15:00,5\n10:16:30,7\n10:17:10,6\n";
    assert_eq!(separator(text), Separator::Byte(b','));
}

#[test]
fn short_rows_are_padded_where_there_are_many() {
    let mut text = "id,at,by,note\n".to_owned();
    for n in 1..30 {
        text += &if n % 3 == 0 {
            format!("A{n},2025-01-02\n")
        } else {
            format!("A{n},2025-01-02,Ada,ok\n")
        };
    }
    let detected = of(text.as_bytes());
    assert_eq!(detected.dialect.short_rows, ShortRows::Pad);
    assert_eq!((detected.uneven_rows, detected.tables[0].rows), (9, 29));
}

#[test]
fn a_header_that_comes_again_is_no_record() {
    let text = "id,n\nA1,1\nA2,2\nid,n\nA3,3\nA4,4\n";
    assert_eq!(read(text), ["id/n", "A1/1", "A2/2", "A3/3", "A4/4"]);
    assert_eq!(of(text.as_bytes()).repeated_headers, [4]);
}

#[test]
fn years_as_names_are_names() {
    let text = "site,2023,2024,2025\nNorth,10,12,13\nSouth,7,8,9\n";
    assert_eq!(read(text)[0], "site/2023/2024/2025");
}

#[test]
fn line_ends_of_one_kind_and_of_several_are_told() {
    assert_eq!(of(b"a,b\r1,2\r3,4\r").dialect.line_end, LineEnd::Cr);
    assert_eq!(of(b"a,b\r\n1,2\r3,4\n5,6\r").dialect.line_end, LineEnd::Any);
    assert_eq!(of(b"a,b\r\n1,\"x\ry\"\r\n3,4\r\n").dialect.line_end, LineEnd::Lf);
}

#[test]
fn a_guessed_encoding_is_a_doubt_with_the_bytes_that_tell() {
    let detected = of(b"nr;ort\n1;Gr\xFCnhag\n2;Velbr\xFCck\n");
    assert_eq!(detected.dialect.encoding.name(), "windows-1252");
    let doubt = detected.doubts.iter().find(|doubt| doubt.what.contains("encoding")).unwrap();
    assert!(doubt.evidence.contains("FC read as ü in windows-1252"), "{}", doubt.evidence);
}

#[test]
fn the_strict_reader_reads_the_table_as_described() {
    let text = "Log of the week\n\nat;loss\n02.01.2025;0,3\n03.01.2025;\"0,4\"\n";
    let dialect = of(text.as_bytes()).dialect;
    let mut rows = rows_of(&dialect, Box::new(Cursor::new(text))).unwrap();
    let mut read = Vec::new();
    while let Some(row) = rows.next_row().unwrap() {
        let cells = Cells::of(&row).unwrap();
        read.push((
            row.line,
            (0..cells.count()).map(|cell| cells.get(cell).to_owned()).collect::<Vec<_>>().join("/"),
        ));
    }
    let expected = [(3, "at/loss"), (4, "02.01.2025/0,3"), (5, "03.01.2025/0,4")];
    assert_eq!(read, expected.map(|(line, text)| (line, text.to_owned())));
}

#[test]
fn footers_behind_the_sample_are_found_in_the_end_of_the_file() {
    let mut text = "id;at;n\n".to_owned();
    (0..5_000).for_each(|n| text += &format!("A{n};2025-01-02;{}\n", n % 7));
    text += "\nTotal;;15000\nEnd of export\n";
    let (head, tail) = (&text.as_bytes()[..20_000], &text.as_bytes()[text.len() - 4_000..]);
    let sample = Sample { head: head.to_vec(), whole: false, tail: Some(tail.to_vec()) };
    let detected = detect(&sample);
    assert_eq!(detected.tables[detected.main].last_line, None);
    assert_eq!(detected.footers.len(), 2);
    let mut out = Vec::new();
    let bytes = Box::new(Cursor::new(text.as_bytes()));
    let written = write_table(&detected, detected.main, bytes, &mut out).unwrap();
    assert_eq!((written.rows, written.left_out), (5_000, 2));
    assert!(out.ends_with(b"A4999,2025-01-02,1\r\n"));
}

#[test]
fn any_bytes_give_an_answer_that_can_be_written() {
    let cases: [&[u8]; 12] = [
        b"",
        b"\0",
        b"\0\0\0\0",
        b"\xFF",
        b"\xFF\xFE",
        b"\xEF\xBB\xBF\"",
        b"\"",
        b"\"\n\"\n\"",
        b",,,\n,,\n",
        b"sep=",
        b"sep=;",
        b"\\",
    ];
    for bytes in cases {
        for whole in [true, false] {
            let detected =
                detect(&Sample { head: bytes.to_vec(), whole, tail: Some(bytes.to_vec()) });
            for table in 0..=detected.tables.len() {
                write_table(&detected, table, Box::new(Cursor::new(bytes)), &mut Vec::new())
                    .unwrap();
            }
        }
    }
}

proptest! {
    #[test]
    fn every_letter_is_in_a_table_or_beside_one(text in "[ab1,;\"\n ]{0,80}") {
        let detected = of(text.as_bytes());
        let letters = |text: &str| text.chars().filter(|c| c.is_alphanumeric()).count();
        let lines = detected.preamble.iter().chain(&detected.footers);
        let mut kept: usize = lines.map(|line| letters(&line.text)).sum();
        let mut left_out = 0;
        for table in 0..detected.tables.len() {
            let mut out = Vec::new();
            let bytes = Box::new(Cursor::new(text.as_bytes()));
            left_out += write_table(&detected, table, bytes, &mut out).unwrap().left_out;
            kept += letters(&String::from_utf8(out).unwrap());
        }
        prop_assert!(left_out > 0 || kept >= letters(&text), "{:?}", detected);
    }

    #[test]
    fn any_noise_is_described_twice_the_same(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        let (one, two) = (of(&bytes), of(&bytes));
        prop_assert_eq!(format!("{:?}", one), format!("{:?}", two));
        for table in 0..one.tables.len() {
            write_table(&one, table, Box::new(Cursor::new(&bytes)), &mut Vec::new()).unwrap();
        }
    }
}
