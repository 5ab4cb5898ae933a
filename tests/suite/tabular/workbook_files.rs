//! Workbooks written by hand, the way office programs write them.

use std::io::{Cursor, Write};

use motetrail::tabular::{Room, Workbook};
use zip::CompressionMethod;
use zip::write::{SimpleFileOptions, ZipWriter};

use super::given::cells;

/// A zip file with these files.
pub fn zipped(files: &[(&str, &str)]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, text) in files {
        let method = match *name {
            "mimetype" => CompressionMethod::Stored,
            _ => CompressionMethod::Deflated,
        };
        zip.start_file(*name, SimpleFileOptions::default().compression_method(method)).unwrap();
        zip.write_all(text.as_bytes()).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

/// An ODS workbook with this inside its spreadsheet, and these styles.
pub fn ods(styles: &str, tables: &str) -> Vec<u8> {
    let content = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<office:document-content \
         xmlns:office=\"o\" xmlns:table=\"t\" xmlns:text=\"x\" xmlns:style=\"s\" \
         xmlns:calcext=\"c\"><office:automatic-styles>{styles}</office:automatic-styles>\
         <office:body><office:spreadsheet>{tables}</office:spreadsheet></office:body>\
         </office:document-content>"
    );
    zipped(&[
        ("mimetype", "application/vnd.oasis.opendocument.spreadsheet"),
        ("content.xml", &content),
        ("META-INF/manifest.xml", "<manifest:manifest xmlns:manifest=\"m\"/>"),
    ])
}

/// An XLSX workbook whose one sheet is `sheet`, with that list of shared texts and of styles.
pub fn xlsx(sheet: &str, shared: &str, styles: &str) -> Vec<u8> {
    let space = "xmlns=\"http://schemas.openxmlformats.org/spreadsheetml/2006/main\"";
    let links = "xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\"";
    let kind = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
    zipped(&[
        ("[Content_Types].xml", "<Types/>"),
        (
            "_rels/.rels",
            &format!(
                "<Relationships {links}><Relationship Id=\"r\" Type=\"{kind}/officeDocument\" \
                 Target=\"xl/workbook.xml\"/></Relationships>"
            ),
        ),
        (
            "xl/workbook.xml",
            &format!(
                "<workbook {space} xmlns:r=\"{kind}\"><sheets><sheet name=\"Log\" \
                 sheetId=\"1\" r:id=\"r1\"/></sheets></workbook>"
            ),
        ),
        (
            "xl/_rels/workbook.xml.rels",
            &format!(
                "<Relationships {links}><Relationship Id=\"r1\" Type=\"{kind}/worksheet\" \
                 Target=\"worksheets/sheet1.xml\"/><Relationship Id=\"r2\" \
                 Type=\"{kind}/sharedStrings\" Target=\"sharedStrings.xml\"/><Relationship \
                 Id=\"r3\" Type=\"{kind}/styles\" Target=\"styles.xml\"/></Relationships>"
            ),
        ),
        ("xl/worksheets/sheet1.xml", &format!("<worksheet {space}>{sheet}</worksheet>")),
        ("xl/sharedStrings.xml", &format!("<sst {space}>{shared}</sst>")),
        ("xl/styles.xml", &format!("<styleSheet {space}>{styles}</styleSheet>")),
    ])
}

/// Opens a workbook of which no column is known.
pub fn open(bytes: &[u8]) -> Result<Workbook<Cursor<Vec<u8>>>, String> {
    Workbook::open(Cursor::new(bytes.to_vec()), None, &[], Room::default())
        .map_err(|error| error.to_string())
}

/// The cells of its chosen sheet.
pub fn rows(bytes: &[u8]) -> Vec<Vec<String>> {
    let mut book = open(bytes).unwrap();
    let mut rows = book.rows().unwrap();
    cells(&mut rows)
}
