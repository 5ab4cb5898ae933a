//! XLSX workbooks that break the rules, by accident or on purpose: a clear error or the table, in
//! bounded memory.

use std::io::Cursor;

use motetrail::tabular::TableRows;
use rust_xlsxwriter::Workbook as Written;

use super::workbook_files::{open, rows, xlsx, zipped};

#[test]
fn a_dimension_is_not_believed() {
    let sheet = "<dimension ref=\"A1:XFD1048576\"/><sheetData><row r=\"2\"><c r=\"B2\"><v>1</v></c>\
        </row></sheetData>";
    assert_eq!(rows(&xlsx(sheet, "", "")), [vec![""], vec!["", "1"]]);
    let sheet = "<sheetData><row r=\"1048576\"><c r=\"XFD1048576\"><v>1</v></c></row></sheetData>";
    let bytes = xlsx(sheet, "", "");
    let mut book = open(&bytes).unwrap();
    assert_eq!((book.facts().sheets[0].rows, book.facts().sheets[0].columns), (1_048_576, 16_384));
    let mut rows = book.rows().unwrap();
    let mut last = 0;
    while let Some(row) = rows.next_row().unwrap() {
        last = row.cells.len();
    }
    assert_eq!(last, 16_384);
}

#[test]
fn sheets_that_break_the_rules_are_refused() {
    let refused = |sheet: &str| {
        open(&xlsx(&format!("<sheetData>{sheet}</sheetData>"), "", "")).err().unwrap()
    };
    let cell = |name: &str| format!("<c r=\"{name}\"><v>1</v></c>");
    for sheet in [
        format!("<row r=\"2\">{}</row><row r=\"1\">{}</row>", cell("A2"), cell("A1")),
        format!("<row r=\"1\">{}{}</row>", cell("B1"), cell("A1")),
        format!("<row r=\"1\">{}</row>", cell("XFE1")),
        format!("<row r=\"1\">{}</row>", cell("A7")),
        format!("<row r=\"1048577\">{}</row>", cell("A1048577")),
        format!("<row r=\"4294967297\">{}</row>", cell("A1")),
        format!("<row r=\"1\">{}</row>", cell("1A")),
    ] {
        assert!(refused(&sheet).contains("expected a whole workbook"), "{sheet}");
    }
    let cut_off = xlsx("<sheetData><row r=\"1\"><c r=\"A1\"><v>1</v>", "", "");
    assert!(open(&cut_off).is_err());
    let long =
        format!("<row r=\"1\"><c r=\"A1\" t=\"str\"><v>{}</v></c></row>", "x".repeat(5 << 20));
    assert!(refused(&long).contains("expected at most 4194304"));
    let deep = "<x>".repeat(300) + &"</x>".repeat(300);
    assert!(refused(&deep).contains("nested too deep"));
}

#[test]
fn entities_that_a_file_defines_are_not_expanded() {
    let sheet = "<sheetData><row r=\"1\"><c r=\"A1\" t=\"str\"><v>&lol;</v></c></row></sheetData>";
    let mut bytes = Vec::new();
    let whole = xlsx(sheet, "", "");
    let mut archive = zip::ZipArchive::new(Cursor::new(whole)).unwrap();
    let mut files = Vec::new();
    for at in 0..archive.len() {
        let mut file = archive.by_index(at).unwrap();
        let name = file.name().unwrap().into_owned();
        let mut text = String::new();
        std::io::Read::read_to_string(&mut file, &mut text).unwrap();
        let entity = "<!DOCTYPE worksheet [<!ENTITY lol \"expanded\">]><worksheet";
        files.push((name, text.replacen("<worksheet", entity, 1)));
    }
    let files: Vec<_> = files.iter().map(|(n, t)| (n.as_str(), t.as_str())).collect();
    bytes.extend(zipped(&files));
    let read = open(&bytes).and_then(|mut book| {
        let mut rows = book.rows().map_err(|error| error.to_string())?;
        super::given::given(&mut rows).map_err(|error| error.to_string())
    });
    assert!(!format!("{read:?}").contains("expanded"), "{read:?}");
}

#[test]
fn lengths_that_the_directory_gives_are_not_believed() {
    let whole = xlsx("<sheetData/>", &"<si><t>x</t></si>".repeat(1000), "");
    let name = b"xl/sharedStrings.xml";
    // The second time it stands in the directory, whose entry gives the length 22 bytes before it.
    let places: Vec<usize> =
        (0..whole.len() - name.len()).filter(|&at| whole[at..].starts_with(name)).collect();
    let at = places[1] - 22;
    for (length, reason) in [(2_000_000_000_u32, "packed bytes that become"), (5, "longer than")] {
        let mut bytes = whole.clone();
        bytes[at..at + 4].copy_from_slice(&length.to_le_bytes());
        let error = open(&bytes).err().unwrap();
        assert!(error.contains(reason), "{length}: {error}");
    }
}

#[test]
fn what_is_no_workbook_is_refused_with_a_reason() {
    let refused = |bytes: &[u8]| open(bytes).err().unwrap();
    assert!(refused(b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1 old").contains("old format"));
    assert!(refused(b"a;b\n1;2\n").contains("expected a whole zip file"));
    assert!(refused(&zipped(&[("table.csv", "a;b")])).contains("found no workbook"));
    let binary = "<Relationships><Relationship Id=\"r\" Type=\"x/officeDocument\" \
        Target=\"xl/workbook.bin\"/></Relationships>";
    let xlsb = zipped(&[("_rels/.rels", binary), ("xl/workbook.bin", "\0")]);
    assert!(refused(&xlsb).contains("save it as XLSX"));
    assert!(refused(b"").contains("expected a whole zip file"));
}

#[test]
fn thousands_of_columns_and_rows_are_read_in_order() {
    let mut book = Written::new();
    let sheet = book.add_worksheet();
    for column in 0..16_384 {
        sheet.write(0, column, f64::from(column)).unwrap();
    }
    for row in 1..100 {
        sheet.write(row, 0, f64::from(row)).unwrap();
    }
    let all = rows(&book.save_to_buffer().unwrap());
    assert_eq!((all.len(), all[0].len(), all[0][16_383].as_str()), (100, 16_384, "16383"));
    assert_eq!(all[99][0], "99");
}
