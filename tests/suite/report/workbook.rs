//! The workbook of all tables, read back by a library that did not write it.

use std::io::Cursor;

use calamine::{Data, Reader, Xlsx, open_workbook_from_rs};

use motetrail::measures::AnyTable;

use super::{FULL, sample, sample_intake};

fn open() -> Xlsx<Cursor<Vec<u8>>> {
    let path = FULL.path().join("2026-Q2/tables.xlsx");
    open_workbook_from_rs(Cursor::new(std::fs::read(path).unwrap())).unwrap()
}

#[test]
fn every_table_has_a_sheet_with_its_columns_and_rows() {
    let mut book = open();
    let review = sample::full();
    let mut names = vec!["contents"];
    names.extend(review.tables().into_iter().map(AnyTable::name));
    names.push("dictionary");
    assert_eq!(book.sheet_names(), names);
    for table in review.tables() {
        let sheet = book.worksheet_range(table.name()).unwrap();
        assert_eq!(sheet.height(), table.leading().len() + 1, "{}", table.name());
        let csv = super::full(&format!("tables/{}.csv", table.name()));
        let heading: Vec<String> =
            sheet.rows().next().unwrap().iter().map(ToString::to_string).collect();
        // In their order; a column in which no row says anything is left out.
        let all: Vec<&str> = csv.lines().next().unwrap().split(',').collect();
        let mut left = all.iter();
        assert!(heading.iter().all(|name| left.any(|column| column == name)), "{}", table.name());
        for (column, name) in heading.iter().enumerate() {
            let mut cells = sheet.rows().skip(1).filter_map(|row| row.get(column));
            let told = table.leading().is_empty() || cells.any(|cell| *cell != Data::Empty);
            assert!(told, "{name} is empty");
        }
    }
}

#[test]
fn the_first_sheet_lists_the_sheets_and_says_the_headlines() {
    let sheet = open().worksheet_range("contents").unwrap();
    let cells: Vec<String> = sheet.rows().flatten().map(ToString::to_string).collect();
    for words in ["Kestrel Carrier, connector review 2026-Q2", "Money is in EUR.", "skipped_cost"] {
        assert!(cells.iter().any(|cell| cell == words), "{words}");
    }
    assert!(cells.iter().any(|cell| cell.starts_with("end faces clean at the first look: 81.2")));
}

/// What a spreadsheet makes of numbers is in the styles: read as the file has them, without a library for workbooks.
#[test]
fn sheets_filter_print_landscape_and_show_shares_as_per_cent_and_money_with_hundredths() {
    let bytes = std::fs::read(FULL.path().join("2026-Q2/tables.xlsx")).unwrap();
    let mut book = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
    let mut part = |name: &str| {
        let mut text = String::new();
        std::io::Read::read_to_string(&mut book.by_name(name).unwrap(), &mut text).unwrap();
        text
    };
    let styles = part("xl/styles.xml");
    assert!(styles.contains("0.0%") && styles.contains("#,##0.00"), "{styles}");
    let sheet = part("xl/worksheets/sheet2.xml");
    for words in [
        "orientation=\"landscape\"",
        "<autoFilter",
        "fitToHeight=\"0\"",
        "state=\"frozen\"",
        "<cols>",
    ] {
        assert!(sheet.contains(words), "{words}");
    }
    assert!(part("xl/workbook.xml").contains("Print_Titles"));
}

#[test]
fn numbers_are_numbers_and_words_that_look_like_formulas_are_words() {
    let mut book = open();
    let sheet = book.worksheet_range("intake").unwrap();
    let cells: Vec<&Data> = sheet.rows().flatten().collect();
    assert!(cells.contains(&&Data::String(sample_intake::RAW.to_owned())));
    assert!(cells.contains(&&Data::Float(17.0)));
    let formulas = book.worksheet_formula("intake").unwrap();
    assert!(formulas.used_cells().next().is_none());
}
