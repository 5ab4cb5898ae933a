//! Files that are no tables of a kind that is read: named for what they are.

use std::io::Cursor;

use motetrail::settings::Dialect;
use motetrail::tabular::{Format, check_known, rows_of};

use super::json_lines::open as open_json;
use super::workbook_files::open as open_workbook;

/// A tar archive of one empty file, as far as it matters here.
pub fn tar() -> Vec<u8> {
    let mut bytes = vec![0; 1024];
    bytes[..9].copy_from_slice(b"looks.csv");
    bytes[257..263].copy_from_slice(b"ustar\0");
    bytes
}

/// Beginnings of files, what they are, and what to do.
pub fn kinds() -> Vec<(Vec<u8>, &'static str, &'static str)> {
    let sheet_2003 = "<?xml version=\"1.0\"?>\n<?mso-application progid=\"Excel.Sheet\"?>\n<Workbook \
        xmlns=\"urn:schemas-microsoft-com:office:spreadsheet\"><Worksheet/></Workbook>";
    let utf_16 = "\u{FEFF}<html><table><tr><td>a</td></tr></table></html>";
    let utf_16: Vec<u8> = utf_16.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let text = |text: &str| text.as_bytes().to_vec();
    vec![
        (text("%PDF-1.7\n%a,b,c\n"), "a PDF document", "export the table"),
        (tar(), "an archive (tar)", "unpack it"),
        (text("<!DOCTYPE html>\n<html><body>1,2</body></html>"), "a web page (HTML)", "as XLSX"),
        (text("\u{FEFF}\n  <Table border=1><tr><td>id</td></tr></table>"), "a web page", "as XLSX"),
        (text("<meta http-equiv=\"Content-Type\" content=\"x\">\n"), "a web page", "as XLSX"),
        (utf_16, "a web page (HTML)", "as XLSX"),
        (text(sheet_2003), "an XML spreadsheet of 2003", "as XLSX"),
        (
            text("<?xml version=\"1.0\"?>\n<looks><look id=\"1\"/></looks>"),
            "an XML document",
            "CSV",
        ),
        (
            text("{\n  \"looks\": [\n    {\"id\": 1}\n  ]\n}\n"),
            "one object of several lines",
            "array",
        ),
        (text("{\\rtf1\\ansi id,at}"), "a text document (RTF)", "export the table"),
        (text("SQLite format 3\0..."), "a database", "export the table"),
        (b"7z\xBC\xAF\x27\x1C\0\x04".to_vec(), "an archive (7z)", "unpack it"),
        (b"\xFD7zXZ\0\0\x04".to_vec(), "packed with xz", "pack it as gzip"),
        (text("BZh51AY&SY.."), "packed with bzip2", "pack it as gzip"),
    ]
}

#[test]
fn what_is_no_table_is_named_and_told_what_to_do_with() {
    for (bytes, what, advice) in kinds() {
        let named = |error: String| {
            let told = error.contains(what) && error.contains(advice);
            assert!(told && error.contains("expected a table as text, XLSX"), "{what}: {error}");
        };
        named(check_known(&bytes).unwrap_err().to_string());
        named(open_workbook(&bytes).err().unwrap());
        named(open_json(&bytes).err().unwrap());
    }
}

#[test]
fn nothing_else_is_ever_cut_as_text() {
    let refused = |bytes: &[u8]| {
        let bytes: Box<dyn std::io::Read> = Box::new(Cursor::new(bytes.to_vec()));
        rows_of(&Dialect::default(), bytes).err().map(|error| error.to_string())
    };
    // Bytes above ASCII are none of UTF-8 text; the others are refused whatever the encoding.
    for (bytes, what, _) in kinds() {
        assert!(refused(&bytes).unwrap().contains(what), "{what}");
    }
    assert!(refused(b"PAR1\x15\x04").unwrap().contains("found a Parquet file"));
    assert!(refused(b"PARE\x15\x04").unwrap().contains("found a Parquet file"));
    assert!(refused(b"{\"id\":1}\n{\"id\":2}\n").unwrap().contains("found JSON"));
    assert!(refused(b"[ {\"id\":1} ]").unwrap().contains("found JSON"));
    let old = b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1";
    assert!(refused(old).unwrap().contains("found a workbook"));
    for text in [
        "id,at\n1,2\n",
        "<id>;<name>\n1;2\n",
        "<table_id>,x\n1,2\n",
        "{id};{name}\n1;2\n",
        "[];[INFO]\n1;2\n",
        "[{1}];x\n1;2\n",
        "%PDF;x\n",
        "GIF;BZh\n",
        "PARENT_ID;PARE\n1;2\n",
        "PAR1;Größe\n1;2\n",
        &format!("{}ustar;1\n", "x".repeat(257)),
        "",
    ] {
        assert_eq!(refused(text.as_bytes()), None, "{text}");
        assert_eq!(Format::of_magic(text.as_bytes()), None, "{text}");
    }
}
