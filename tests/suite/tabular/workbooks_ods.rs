//! ODS workbooks as rows of texts, and the same cells as another reader sees them.

use std::io::Cursor;

use calamine::{Data, Ods, Reader};

use super::workbook_files::{ods, open, rows, zipped};

/// A sheet of rows.
fn table(rows: &str) -> String {
    format!("<table:table table:name=\"Log\"><table:table-column/>{rows}</table:table>")
}

fn row(cells: &str) -> String {
    format!("<table:table-row>{cells}</table:table-row>")
}

fn value(kind: &str, attribute: &str, value: &str) -> String {
    format!(
        "<table:table-cell office:value-type=\"{kind}\" office:{attribute}=\"{value}\">\
         <text:p>shown</text:p></table:table-cell>"
    )
}

fn text(text: &str) -> String {
    format!("<table:table-cell office:value-type=\"string\">{text}</table:table-cell>")
}

#[test]
fn values_are_given_and_not_what_is_shown() {
    let cells = [
        value("float", "value", "5.0"),
        value("percentage", "value", "0.25"),
        value("currency", "value", "1250.50"),
        value("boolean", "boolean-value", "true"),
        value("date", "date-value", "2026-03-05"),
        value("date", "date-value", "2026-03-05T08:15:00.000000000"),
        value("date", "date-value", "2026-03-05T08:15:00.250"),
        value("time", "time-value", "PT08H15M00S"),
        value("time", "time-value", "PT26H15M00.5S"),
        value("string", "string-value", "a &amp; b"),
    ];
    assert_eq!(
        rows(&ods("", &table(&row(&cells.concat())))),
        [vec![
            "5",
            "0.25",
            "1250.5",
            "true",
            "2026-03-05",
            "2026-03-05T08:15:00",
            "2026-03-05T08:15:00.25",
            "08:15:00",
            "26:15:00.500",
            "a & b"
        ]]
    );
}

#[test]
fn texts_keep_blanks_and_lines_and_lose_notes() {
    let cells = [
        text("<text:p>two<text:s text:c=\"2\"/>blanks</text:p><text:p>and &lt;a&#10;line</text:p>"),
        text("<text:p>a<text:tab/>b<text:line-break/>c <text:span>d</text:span></text:p>"),
        text("<office:annotation><text:p>note</text:p></office:annotation><text:p>kept</text:p>"),
        "<table:table-cell office:value-type=\"string\" office:string-value=\"\" \
         calcext:value-type=\"error\"><text:p>#N/A</text:p></table:table-cell>"
            .to_owned(),
    ];
    assert_eq!(
        rows(&ods("", &table(&row(&cells.concat())))),
        [vec!["two  blanks\nand <a\nline", "a\tb\nc d", "kept", "#N/A"]]
    );
}

#[test]
fn repeated_cells_and_rows_are_written_out_and_empty_ends_are_not() {
    let tables = table(
        &[
            row("<table:table-cell table:number-columns-repeated=\"16384\"/>"),
            "<table:table-header-rows>".to_owned(),
            row(&format!(
                "{}<table:table-cell table:number-columns-repeated=\"2\"/>{}<table:table-cell \
             table:number-columns-repeated=\"16380\"/>",
                text("<text:p>Port</text:p>"),
                text("<text:p>Result</text:p>")
            )),
            "</table:table-header-rows>".to_owned(),
            "<table:table-row table:number-rows-repeated=\"2\" table:visibility=\"filter\">\
         <table:table-cell table:number-columns-repeated=\"2\" office:value-type=\"float\" \
         office:value=\"7\"/></table:table-row>"
                .to_owned(),
            "<table:table-row table:number-rows-repeated=\"1048572\"><table:table-cell \
         table:number-columns-repeated=\"16384\"/></table:table-row>"
                .to_owned(),
        ]
        .concat(),
    );
    let bytes = ods("", &tables);
    let seven = vec!["7", "7", "", ""];
    assert_eq!(rows(&bytes), [vec![""], vec!["Port", "", "", "Result"], seven.clone(), seven]);
    let book = open(&bytes).unwrap();
    let fact = &book.facts().sheets[0];
    assert_eq!((fact.rows, fact.columns, fact.hidden_rows), (4, 4, 2));
}

#[test]
fn sheets_formulas_and_merged_cells_are_counted() {
    let styles = "<style:style style:name=\"off\" style:family=\"table\"><style:table-properties \
        table:display=\"false\"/></style:style>";
    let first = table(&row(
        "<table:table-cell table:number-columns-spanned=\"3\" office:value-type=\"string\">\
         <text:p>Title</text:p></table:table-cell><table:covered-table-cell \
         table:number-columns-repeated=\"2\"/><table:table-cell table:formula=\"of:=[.A1]\" \
         office:value-type=\"float\" office:value=\"3\"/><table:table-cell \
         table:formula=\"of:=[.A2]\"/>",
    ));
    let hidden = "<table:table table:name=\"Old\" table:style-name=\"off\"><table:table-row>\
        <table:table-cell/></table:table-row></table:table>";
    let bytes = ods(styles, &format!("{first}{hidden}"));
    let book = open(&bytes).unwrap();
    let facts = book.facts();
    assert_eq!(facts.sheets.len(), 2);
    let fact = &facts.sheets[0];
    assert_eq!((fact.formulas, fact.formulas_without_value, fact.merged), (2, 1, 1));
    assert!(!fact.hidden && facts.sheets[1].hidden && facts.chosen == 0);
    assert_eq!(rows(&bytes), [vec!["Title", "", "", "3"]]);
}

#[test]
fn another_reader_sees_the_same_cells() {
    let mut lines = String::new();
    for n in 0..200 {
        lines += &row(&[
            value("float", "value", &format!("{}.5", n)),
            text(&format!("<text:p>P{n}<text:s/>x</text:p>")),
            value("boolean", "boolean-value", if n % 2 == 0 { "true" } else { "false" }),
            value("date", "date-value", &format!("2026-01-{:02}", n % 28 + 1)),
        ]
        .concat());
    }
    let bytes = ods("", &table(&lines));
    let mut other: Ods<_> = Ods::new(Cursor::new(bytes.clone())).unwrap();
    let range = other.worksheet_range("Log").unwrap();
    let plain = |cell: &Data| match cell {
        Data::Float(number) => number.to_string(),
        Data::Bool(truth) => truth.to_string(),
        Data::String(text) | Data::DateTimeIso(text) => text.clone(),
        other => panic!("{other:?}"),
    };
    let seen: Vec<Vec<String>> = range.rows().map(|row| row.iter().map(plain).collect()).collect();
    assert_eq!(rows(&bytes), seen);
}

#[test]
fn files_that_are_cut_off_locked_or_absurd_are_refused() {
    let refused = |bytes: &[u8]| open(bytes).err().unwrap();
    let mime = ("mimetype", "application/vnd.oasis.opendocument.spreadsheet");
    let cut_off = "<office:document-content><office:body><office:spreadsheet><table:table \
        table:name=\"Log\"><table:table-row><table:table-cell><office:annotation>";
    assert!(refused(&zipped(&[mime, ("content.xml", cut_off)])).contains("cut off"));
    let locked = ("META-INF/manifest.xml", "<m><manifest:encryption-data/></m>");
    assert!(refused(&zipped(&[mime, ("content.xml", "x"), locked])).contains("password"));
    let much = table(
        "<table:table-row table:number-rows-repeated=\"1048576\"><table:table-cell \
         table:number-columns-repeated=\"16384\" office:value-type=\"float\" office:value=\"1\"/>\
         </table:table-row>",
    );
    assert!(refused(&ods("", &much)).contains("expected at most 200000000"));
    let beyond = table(&format!(
        "<table:table-row table:number-rows-repeated=\"1048576\"><table:table-cell/>\
         </table:table-row>{}",
        row(&text("<text:p>x</text:p>"))
    ));
    assert!(refused(&ods("", &beyond)).contains("row 1048577"));
    let entity = table(&row(&text("<text:p>&lol;</text:p>")));
    assert!(refused(&ods("", &entity)).contains("\"lol\""));
    assert!(refused(&ods("", "")).contains("found no workbook"));
}

#[test]
fn blanks_by_the_million_do_not_fill_the_memory() {
    let blanks = "<text:s text:c=\"4000000000\"/>".repeat(1000);
    let bytes = ods("", &table(&row(&text(&format!("<text:p>a{blanks}</text:p>")))));
    let mut book = open(&bytes).unwrap();
    let mut rows = book.rows().unwrap();
    let given = super::given::given(&mut rows).unwrap();
    assert_eq!(given[0].2, Some(motetrail::tabular::RowFault::TooLong));
}
