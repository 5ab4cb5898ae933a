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

#[test]
fn of_a_header_with_a_row_of_blanks_between_the_names_above_the_records_stand() {
    let (found, table) = csv(
        "Looks of the yard\n\nLook,Look,Result,Result\n,,,\nno,at,word,zone\n1,2026-01-02,pass,A\n2,2026-01-03,fail,B\n3,2026-01-04,pass,A\n4,2026-01-05,pass,A\n",
    );
    assert!(table.starts_with("no,at,word,zone\n1,2026-01-02,pass,A\n"), "{table}");
    assert_eq!(found.tables[found.main].rows, 4);
    assert!(has_doubt(&found, "lines before the table"), "{:?}", found.doubts);
}
