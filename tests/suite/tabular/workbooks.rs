//! XLSX workbooks as rows of texts. The files are written by another library, or by hand where it
//! cannot write what a program or an attacker would.

use std::io::Cursor;

use motetrail::tabular::{Room, Workbook};
use rust_xlsxwriter::{
    ExcelDateTime, Format, FormatAlign, Formula, Workbook as Written, Worksheet,
};

use super::workbook_files::{open, rows, xlsx, zipped};

fn saved(fill: impl Fn(&mut Worksheet)) -> Vec<u8> {
    let mut book = Written::new();
    fill(book.add_worksheet());
    book.save_to_buffer().unwrap()
}

/// One column of cells.
fn column(fill: impl Fn(&mut Worksheet)) -> Vec<String> {
    rows(&saved(fill)).into_iter().map(|mut row| row.remove(0)).collect()
}

#[test]
fn numbers_texts_and_truths_are_given_in_their_shortest_form() {
    let texts = column(|sheet| {
        sheet.write(0, 0, 5.0).unwrap();
        sheet.write(1, 0, 0.1).unwrap();
        sheet.write(2, 0, -1234567.25).unwrap();
        sheet.write(3, 0, "007").unwrap();
        sheet.write(4, 0, true).unwrap();
        sheet.write(5, 0, " Größe\nzweite <Zeile> & \"mehr\"").unwrap();
        sheet.write_with_format(6, 0, 0.25, &Format::new().set_num_format("0.00%")).unwrap();
        sheet.write(7, 0, 1e300).unwrap();
        sheet.write(8, 0, "=1+1").unwrap();
    });
    assert_eq!(
        texts,
        [
            "5",
            "0.1",
            "-1234567.25",
            "007",
            "true",
            " Größe\nzweite <Zeile> & \"mehr\"",
            "0.25",
            "1e300",
            "=1+1"
        ]
    );
}

#[test]
fn dates_and_times_are_given_by_iso_8601_as_far_as_the_format_shows_them() {
    let texts = column(|sheet| {
        let day = ExcelDateTime::from_ymd(2026, 3, 5).unwrap();
        let moment = ExcelDateTime::parse_from_str("2026-03-05T08:15:00").unwrap();
        let fine = ExcelDateTime::parse_from_str("2026-03-05T08:15:59.123").unwrap();
        let time = ExcelDateTime::from_hms(8, 15, 0).unwrap();
        let formats = [
            (&day, "dd.mm.yyyy"),
            (&moment, "m/d/yy h:mm"),
            (&moment, "yyyy-mm-dd"),
            (&day, "dd.mm.yyyy hh:mm"),
            (&fine, "yyyy-mm-dd hh:mm:ss.000"),
            (&time, "hh:mm"),
            (&time, "h:mm AM/PM"),
            (&moment, "hh:mm:ss"),
            (&time, "mm:ss"),
            (&day, "[$-407]d. mmm"),
        ];
        for (row, (value, format)) in formats.into_iter().enumerate() {
            let format = Format::new().set_num_format(format);
            sheet.write_with_format(row as u32, 0, value, &format).unwrap();
        }
        let hours = Format::new().set_num_format("[h]:mm:ss");
        sheet.write_with_format(10, 0, 26.25 / 24.0, &hours).unwrap();
        sheet.write_with_format(11, 0, -0.5 / 24.0, &hours).unwrap();
    });
    assert_eq!(
        texts,
        [
            "2026-03-05",
            "2026-03-05T08:15:00",
            "2026-03-05T08:15:00",
            "2026-03-05T00:00:00",
            "2026-03-05T08:15:59.123",
            "08:15:00",
            "08:15:00",
            "2026-03-05T08:15:00",
            "08:15:00",
            "2026-03-05",
            "26:15:00",
            "-00:30:00"
        ]
    );
}

/// A sheet with one column of serial numbers in a date format.
fn serials(numbers: &[&str], from_1904: bool) -> Vec<String> {
    let cells: String = numbers
        .iter()
        .enumerate()
        .map(|(n, number)| {
            format!("<row r=\"{0}\"><c r=\"A{0}\" s=\"1\"><v>{number}</v></c></row>", n + 1)
        })
        .collect();
    let styles = "<cellXfs><xf numFmtId=\"0\"/><xf numFmtId=\"14\"/></cellXfs>";
    let mut bytes = xlsx(&format!("<sheetData>{cells}</sheetData>"), "", styles);
    if from_1904 {
        let mut files = Vec::new();
        let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
        for at in 0..archive.len() {
            let mut file = archive.by_index(at).unwrap();
            let mut text = String::new();
            std::io::Read::read_to_string(&mut file, &mut text).unwrap();
            let name = file.name().unwrap().into_owned();
            files.push((name, text.replace("<sheets>", "<workbookPr date1904=\"1\"/><sheets>")));
        }
        let files: Vec<_> = files.iter().map(|(n, t)| (n.as_str(), t.as_str())).collect();
        bytes = zipped(&files);
    }
    assert_eq!(open(&bytes).unwrap().facts().dates_from_1904, from_1904);
    rows(&bytes).into_iter().map(|mut row| row.remove(0)).collect()
}

/// Source: ECMA-376 part 1, 18.17.4.1: in the system of 1900, 1 is 1900-01-01, 60 the day that never
/// was, 61 1900-03-01 and 2,958,465 9999-12-31; in that of 1904, 0 is 1904-01-01.
#[test]
fn serial_dates_count_from_1900_or_1904() {
    assert_eq!(
        serials(
            &["1", "59", "60", "61", "46086", "2958465", "2958466", "-1", "46086.34375"],
            false
        ),
        [
            "1900-01-01",
            "1900-02-28",
            "1900-02-29",
            "1900-03-01",
            "2026-03-05",
            "9999-12-31",
            "2958466",
            "-1",
            "2026-03-05T08:15:00"
        ]
    );
    // 1,462 days lie between the two beginnings.
    assert_eq!(serials(&["0", "44624"], true), ["1904-01-01", "2026-03-05"]);
}

#[test]
fn formulas_are_given_by_the_value_they_were_saved_with() {
    let bytes = saved(|sheet| {
        sheet.write(0, 0, Formula::new("=1+1").set_result("2")).unwrap();
        sheet.write(1, 0, Formula::new("=\"a\"&\"b\"").set_result("ab")).unwrap();
        sheet.write(2, 0, Formula::new("=NA()").set_result("#N/A")).unwrap();
        sheet.write(3, 0, "end").unwrap();
    });
    let texts: Vec<String> = rows(&bytes).into_iter().map(|mut row| row.remove(0)).collect();
    assert_eq!(texts, ["2", "ab", "#N/A", "end"]);
    assert_eq!(open(&bytes).unwrap().facts().sheets[0].formulas, 3);
    let sheet = "<sheetData><row r=\"1\"><c r=\"A1\"><f>B1</f></c><c r=\"B1\"><f>C1</f><v></v></c>\
        <c r=\"C1\"><f>1+1</f><v>2</v></c></row></sheetData>";
    let bytes = xlsx(sheet, "", "");
    assert_eq!(rows(&bytes), [vec!["", "", "2"]]);
    let fact = open(&bytes).unwrap().facts().sheets[0].clone();
    assert_eq!((fact.formulas, fact.formulas_without_value), (3, 2));
}

#[test]
fn rows_are_padded_to_the_sheets_width_and_keep_their_numbers() {
    let bytes = saved(|sheet| {
        sheet
            .merge_range(0, 0, 0, 2, "Title", &Format::new().set_align(FormatAlign::Center))
            .unwrap();
        sheet.write(2, 0, "Port").unwrap();
        sheet.write(2, 3, "Result").unwrap();
        sheet.write(4, 1, "ok").unwrap();
        sheet.write_blank(9, 9, &Format::new().set_bold()).unwrap();
        sheet.set_row_hidden(4).unwrap();
        sheet.set_row_hidden(7).unwrap();
    });
    assert_eq!(
        rows(&bytes),
        [
            vec!["Title", "", "", ""],
            vec![""],
            vec!["Port", "", "", "Result"],
            vec![""],
            vec!["", "ok", "", ""]
        ]
    );
    let book = open(&bytes).unwrap();
    let fact = &book.facts().sheets[0];
    assert_eq!((fact.rows, fact.columns, fact.hidden_rows, fact.merged), (5, 4, 1, 1));
}

fn three_sheets() -> Vec<u8> {
    let mut book = Written::new();
    let sheet = book.add_worksheet().set_name("Notes").unwrap();
    for row in 0..50 {
        sheet.write(row, 0, "read me").unwrap();
        sheet.write(row, 1, "Port").unwrap();
    }
    let sheet = book.add_worksheet().set_name("Log").unwrap();
    for (column, name) in ["Port ", "Result", "At"].into_iter().enumerate() {
        sheet.write(3, column as u16, name).unwrap();
        sheet.write(4, column as u16, 1.0).unwrap();
    }
    let sheet = book.add_worksheet().set_name("Old").unwrap();
    sheet.set_hidden(true);
    for (column, name) in ["Port", "Result", "At", "Who"].into_iter().enumerate() {
        sheet.write(0, column as u16, name).unwrap();
    }
    book.save_to_buffer().unwrap()
}

fn chosen(
    bytes: &[u8],
    sheet: Option<&str>,
    wanted: &[&str],
) -> Result<(usize, Vec<usize>), String> {
    let wanted: Vec<String> = wanted.iter().map(|name| (*name).to_owned()).collect();
    let book = Workbook::open(Cursor::new(bytes), sheet, &wanted, Room::default())
        .map_err(|e| e.to_string())?;
    Ok((book.facts().chosen, book.facts().also_fit.clone()))
}

#[test]
fn a_sheet_is_chosen_by_name_by_content_or_by_size() {
    let bytes = three_sheets();
    let names: Vec<(String, bool)> =
        open(&bytes).unwrap().facts().sheets.iter().map(|s| (s.name.clone(), s.hidden)).collect();
    let expected = [("Notes", false), ("Log", false), ("Old", true)];
    assert_eq!(names, expected.map(|(name, hidden)| (name.to_owned(), hidden)));
    assert_eq!(chosen(&bytes, Some("Old"), &["Port"]), Ok((2, vec![])));
    assert_eq!(chosen(&bytes, None, &["Port", "Result", "At", "Who"]), Ok((1, vec![])));
    assert_eq!(chosen(&bytes, None, &["Port"]), Ok((0, vec![1])));
    assert_eq!(chosen(&bytes, None, &["Who"]), Ok((2, vec![])));
    assert_eq!(chosen(&bytes, None, &[]), Ok((0, vec![])));
    let error = chosen(&bytes, Some("log"), &[]).unwrap_err();
    assert!(error.contains("\"Notes\", \"Log\", \"Old\""), "{error}");
}

#[test]
fn rich_and_inline_texts_are_joined() {
    let sheet = "<sheetData><row r=\"1\"><c r=\"A1\" t=\"s\"><v>0</v></c><c r=\"B1\" t=\"inlineStr\">\
        <is><t>in</t></is></c><c r=\"D1\" t=\"str\"><v>a &amp; b&#10;c</v></c></row></sheetData>";
    let shared = "<si><r><t>Gr</t></r><r><rPr><b/></rPr><t>öße</t></r></si>";
    assert_eq!(rows(&xlsx(sheet, shared, "")), [vec!["Größe", "in", "", "a & b\nc"]]);
}

#[test]
fn errors_are_given_by_their_text_whatever_their_kind() {
    let cell = |name: &str, text: &str| format!("<c r=\"{name}\" t=\"e\"><v>{text}</v></c>");
    let sheet = format!(
        "<sheetData><row r=\"1\">{}{}{}<c r=\"E1\"><v>5</v></c></row><row r=\"3\">{}{}</row></sheetData>",
        cell("A1", "#N/A"),
        cell("B1", "#SPILL!"),
        cell("D1", "#ERROR!"),
        cell("A3", "#CALC!"),
        cell("B3", "#DIV/0!"),
    );
    assert_eq!(
        rows(&xlsx(&sheet, "", "")),
        [
            vec!["#N/A", "#SPILL!", "", "#ERROR!", "5"],
            vec![""],
            vec!["#CALC!", "#DIV/0!", "", "", ""]
        ]
    );
}
