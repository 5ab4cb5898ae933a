//! Small files of the kinds that collections of real and polluted files hold, each written for its test.

use motetrail::settings::Separator;
use motetrail::tabular::detect::{Detected, Sample, detect, detect_cut, write_table};

fn detected(text: &[u8]) -> Detected {
    detect(&Sample { head: text.to_vec(), whole: true, tail: None })
}

fn csv(text: &str) -> (Detected, String) {
    let detected = detected(text.as_bytes());
    let mut out = Vec::new();
    write_table(&detected, detected.main, Box::new(text.as_bytes()), &mut out).unwrap();
    let table = String::from_utf8(out).unwrap().replace("\r\n", "\n");
    (detected, table)
}

fn has_doubt(detected: &Detected, what: &str) -> bool {
    detected.doubts.iter().any(|doubt| doubt.what.contains(what))
}

#[test]
fn rows_of_empty_cells_are_no_records_and_are_counted() {
    let (found, table) =
        csv("id,at,result\n1,2026-01-02,pass\n,,\n2,2026-01-03,fail\n,,\n3,2026-01-04,pass\n");
    assert_eq!(table, "id,at,result\n1,2026-01-02,pass\n2,2026-01-03,fail\n3,2026-01-04,pass\n");
    assert_eq!(found.tables[found.main].rows, 3);
    assert_eq!(found.empty_rows, [3, 5]);
    assert!(has_doubt(&found, "all empty"), "{:?}", found.doubts);
}

#[test]
fn a_title_and_a_row_of_blanks_are_not_the_header() {
    let (found, table) = csv(
        "Looks of the yard,,\n,,\nid,at,result\n1,2026-01-02,pass\n2,2026-01-03,fail\n3,2026-01-04,pass\n",
    );
    assert_eq!(found.dialect.skip_lines, 2);
    assert!(table.starts_with("id,at,result\n1,"), "{table}");
}

#[test]
fn a_header_survives_a_later_section_that_repeats_its_first_cell() {
    let text = "id,at,result\n1,2026-01-02,pass\n2,2026-01-03,fail\n\nid,note\n1,checked twice\n2,lens dirty\n";
    let (found, table) = csv(text);
    assert_eq!(found.tables.len(), 2);
    assert_eq!(table, "id,at,result\n1,2026-01-02,pass\n2,2026-01-03,fail\n");
}

#[test]
fn a_header_written_with_blanks_is_the_header() {
    let (_, table) = csv(
        "id, at, result, port\n1,2026-01-02,pass,7\n2,2026-01-03,fail,8\n3,2026-01-04,pass,9\n",
    );
    assert!(table.starts_with("id,at,result,port\n"), "{table}");
}

#[test]
fn names_of_rows_without_a_name_of_their_own_shift_the_header_as_a_doubt() {
    for separator in [" ", "\t"] {
        let text =
            "Ozone Solar Wind\n1 41 190 7.4\n2 36 118 8.0\n3 12 149 12.6\n".replace(' ', separator);
        let (found, table) = csv(&text);
        assert!(table.starts_with(",Ozone,Solar,Wind\n1,41,190,7.4\n"), "{table}");
        assert!(has_doubt(&found, "one name less"), "{:?}", found.doubts);
    }
}

#[test]
fn punctuation_that_was_encoded_twice_is_a_doubt_and_real_letters_are_none() {
    let (found, table) = csv("id,what\n1,Kerâ€™s port\n2,CafÃ© row\n3,plain\n");
    assert!(has_doubt(&found, "encoded twice"), "{:?}", found.doubts);
    assert!(table.contains("CafÃ©"), "{table}");
    let (found, _) = csv("id,what\n1,Âncora\n2,pâté\n3,SÃO\n");
    assert!(!has_doubt(&found, "encoded twice"), "{:?}", found.doubts);
}

#[test]
fn a_first_record_of_text_is_not_joined_to_the_header() {
    for text in ["x,y\nNA,1\n2,3\n4,5\n6,7\n", "x\nNA\n1\n2\n3\n"] {
        let (found, table) = csv(text);
        assert_eq!(found.dialect.header_rows, 1);
        assert_eq!(table, text);
    }
}

#[test]
fn a_wider_second_table_is_not_merged_into_the_first() {
    let second =
        "id,at,result,port\n1,2026-01-02,pass,7\n2,2026-01-03,fail,8\n3,2026-01-04,fail,8\n";
    for between in ["", "\n"] {
        let (found, table) = csv(&format!("id,result\n1,pass\n2,fail\n3,pass\n{between}{second}"));
        assert_eq!((found.tables.len(), table.as_str()), (2, second));
    }
}

#[test]
fn cells_of_a_workbook_are_not_cut_again_at_their_commas() {
    let rows: String = (0..8)
        .map(|row| format!("Rack {row}\tdirty, cleaned, looked at, fine, ok, done\n"))
        .collect();
    let text = format!("Location\tComment\n{rows}");
    let sample = Sample { head: text.into_bytes(), whole: true, tail: None };
    let found = detect_cut(&sample, Some(Separator::Byte(b'\t')));
    assert_eq!(found.tables[found.main].names, ["Location", "Comment"]);
    assert_eq!(found.tables[found.main].rows, 8);
}

#[test]
fn a_lone_sign_in_a_plain_file_is_western() {
    for sign in
        [&b"\xD8 (\xB5m)"[..], b"cost \xA3", b"temp \xB0C", b"area mm\xB2", b"\xD8", b"price \x80"]
    {
        let rows: String = (0..40).map(|row| format!("L{row},2026-01-02,{row}\n")).collect();
        let text = [b"id,at,".as_slice(), sign, b"\n", rows.as_bytes()].concat();
        let found = detected(&text);
        assert_eq!(found.dialect.encoding.name(), "windows-1252", "{sign:?}");
        assert!(!has_doubt(&found, "the encoding is a guess"), "{sign:?}");
    }
    // Letters of a text are a guess, and said to be one.
    let found = detected(b"id,site\n1,Wroc\xB3aw\n2,\xA3\xF3d\xBC\n3,Gda\xF1sk\n");
    assert!(has_doubt(&found, "the encoding is a guess"), "{:?}", found.doubts);
}

const LOOKS: &str =
    "1,2026-01-02,pass,A\n2,2026-01-03,fail,B\n3,2026-01-04,pass,A\n4,2026-01-05,pass,A\n";

#[test]
fn a_header_over_three_lines_is_one_with_a_blank_line_or_a_row_of_blanks_between_or_none() {
    for between in ["", "\n", ",,,\n"] {
        // The last line is units of some columns, or the rest of their names.
        for (rest, day) in
            [(",(UTC),,\n", "Look at (UTC)"), (",local time,,\n", "Look at local time")]
        {
            let (found, table) =
                csv(&format!("Look,,Result,\nno,at,word,zone\n{between}{rest}{LOOKS}"));
            let header = format!("Look no,{day},Result word,Result zone\n");
            assert_eq!(table, header + LOOKS, "{between:?}");
            assert_eq!(found.dialect.header_rows, 3);
            let is_told = has_doubt(&found, "behind an empty row");
            assert_eq!(is_told, !between.is_empty(), "{:?}", found.doubts);
        }
        // Titles of groups above the names.
        for titles in ["Look,,Result,\n", "Look,Look,Result,Result\n"] {
            let text = format!("Looks of the yard\n\n{titles}{between}no,at,word,zone\n{LOOKS}");
            let (found, table) = csv(&text);
            let header = "Look no,Look at,Result word,Result zone\n";
            assert_eq!(table, header.to_owned() + LOOKS, "{text}");
            assert_eq!((found.dialect.skip_lines, found.dialect.header_rows), (2, 2), "{text}");
        }
        // A row of units behind a blank one.
        let (found, table) = csv(&format!(
            "Look,,Result,\nNumber,Day,First,Second\n{between},,,%\n1,2026-01-02,80,90\n2,2026-01-03,70,95\n3,2026-01-04,81,99\n4,2026-01-05,80,90\n"
        ));
        assert!(
            table.starts_with(
                "Look Number,Look Day,Result First,Result Second\n1,2026-01-02,80,90\n"
            ),
            "{table}"
        );
        assert!(found.dialect.units_row, "{between:?}");
    }
}

#[test]
fn what_stands_above_a_blank_line_and_names_no_column_is_no_part_of_the_header() {
    for between in ["\n", ",,,\n"] {
        let (found, table) =
            csv(&format!("Site,Alder,Period,Spring\n{between}no,at,word,zone\n{LOOKS}"));
        assert_eq!(table, format!("no,at,word,zone\n{LOOKS}"), "{between:?}");
        assert!(has_doubt(&found, "before the table"), "{:?}", found.doubts);
    }
}

#[test]
fn a_first_record_that_lacks_most_of_its_cells_is_a_record() {
    for first in [",n/a,,\n", "1,,,\n", ",,pass,A\n"] {
        let (found, table) = csv(&format!("no,at,word,zone\n{first}{LOOKS}"));
        assert_eq!(found.dialect.header_rows, 1, "{first:?}");
        assert_eq!(table, format!("no,at,word,zone\n{first}{LOOKS}"));
    }
}

#[test]
fn a_blank_or_a_title_row_is_never_the_header_that_later_rows_repeat() {
    let rows = "1,2026-01-02,pass\n,,\n2,2026-01-03,fail\n,,\n3,2026-01-04,pass\n";
    for above in [",,\n", ",,\n,,\n", "Looks,,\n", "Looks,,\n,,\n"] {
        let (found, table) = csv(&format!("{above}no,at,word\n{rows}"));
        assert_eq!(table, format!("no,at,word\n{}", rows.replace(",,\n", "")), "{above:?}");
        assert!(found.repeated_headers.is_empty(), "{:?}", found.repeated_headers);
        assert_eq!(found.empty_rows.len(), 2);
    }
}
