//! Workbooks as others than office programs write them: zip files that begin otherwise, one file of XML.

use std::io::Cursor;

use motetrail::tabular::Format;

use super::workbook_files::{ods, open, rows, xlsx, zipped};

/// The files of a zip file with their texts, in its order.
fn files(bytes: &[u8]) -> Vec<(String, String)> {
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
    let count = archive.len();
    let file = |at| {
        let mut file = archive.by_index(at).unwrap();
        let mut text = String::new();
        std::io::Read::read_to_string(&mut file, &mut text).unwrap();
        (file.name().unwrap().into_owned(), text)
    };
    (0..count).map(file).collect()
}

fn packed(files: &[(String, String)]) -> Vec<u8> {
    let files: Vec<(&str, &str)> = files.iter().map(|(n, t)| (n.as_str(), t.as_str())).collect();
    zipped(&files)
}

fn table() -> &'static str {
    "<table:table table:name=\"Log\"><table:table-row><table:table-cell office:value-type=\"float\" \
     office:value=\"5\"><text:p>5,0</text:p></table:table-cell></table:table-row></table:table>"
}

#[test]
fn an_xlsx_is_told_and_read_in_whatever_order_its_files_stand() {
    let sheet = "<sheetData><row r=\"1\"><c r=\"A1\"><v>7</v></c></row></sheetData>";
    let written = files(&xlsx(sheet, "", ""));
    for first in 0..written.len() {
        let mut turned = written.clone();
        turned.rotate_left(first);
        let bytes = packed(&turned);
        assert_eq!(Format::of_zip(&mut Cursor::new(&bytes)), Some(Format::Workbook), "{first}");
        assert_eq!(rows(&bytes), [["7"]], "{first}");
    }
    let mut other = vec![("custom/item.txt".to_owned(), "first".to_owned())];
    other.extend(written);
    let bytes = packed(&other);
    assert_eq!(Format::of_magic(&bytes), None);
    assert_eq!(Format::of_zip(&mut Cursor::new(&bytes)), Some(Format::Workbook));
    assert_eq!(rows(&bytes), [["7"]]);
}

#[test]
fn an_ods_is_read_with_its_kind_behind_or_nowhere() {
    let written = files(&ods("", table()));
    let mut last = written.clone();
    last.rotate_left(1);
    let without: Vec<_> = written.into_iter().filter(|(name, _)| name != "mimetype").collect();
    for files in [last, without] {
        let bytes = packed(&files);
        assert_eq!(Format::of_magic(&bytes), None);
        assert_eq!(Format::of_zip(&mut Cursor::new(&bytes)), Some(Format::Workbook));
        assert_eq!(rows(&bytes), [["5"]]);
    }
}

#[test]
fn a_zip_file_of_exports_is_no_workbook() {
    let bytes = zipped(&[("looks.csv", "a;b"), ("joins.csv", "c;d")]);
    assert_eq!(Format::of_zip(&mut Cursor::new(&bytes)), None);
    assert_eq!(Format::of_zip(&mut Cursor::new(b"no zip file")), None);
}

#[test]
fn an_ods_that_is_one_file_of_xml_is_read_like_a_packed_one() {
    let content = files(&ods("", table())).remove(1).1;
    let flat = content.replace("office:document-content", "office:document");
    assert_eq!(Format::of_magic(flat.as_bytes()), Some(Format::Workbook));
    assert_eq!(Format::of("looks.fods"), Format::Workbook);
    assert_eq!(rows(flat.as_bytes()), [["5"]]);
    let two = flat.replace("</table:table>", "</table:table><table:table table:name=\"B\"/>");
    let book = open(two.as_bytes()).unwrap();
    let names: Vec<&str> = book.facts().sheets.iter().map(|sheet| sheet.name.as_str()).collect();
    assert_eq!(names, ["Log", "B"]);
    assert!(
        open(&flat.as_bytes()[..flat.len() - 40])
            .err()
            .unwrap()
            .contains("expected a whole workbook")
    );
}

#[test]
fn two_sheets_that_claim_the_same_cells_are_refused() {
    let written = files(&xlsx("<sheetData/>", "", ""));
    let doubled: Vec<(String, String)> = written
        .into_iter()
        .map(|(name, text)| {
            let sheet = "<sheet name=\"B\" sheetId=\"2\" r:id=\"r1\"/></sheets>";
            (name, text.replace("</sheets>", sheet))
        })
        .collect();
    assert!(open(&packed(&doubled)).err().unwrap().contains("more sheets are listed"));
}
