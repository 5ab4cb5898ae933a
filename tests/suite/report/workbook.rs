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
    let mut names: Vec<&str> = review.tables().into_iter().map(AnyTable::name).collect();
    names.push("dictionary");
    assert_eq!(book.sheet_names(), names);
    for table in review.tables() {
        let sheet = book.worksheet_range(table.name()).unwrap();
        assert_eq!(sheet.height(), table.leading().len() + 1, "{}", table.name());
        let csv = super::full(&format!("tables/{}.csv", table.name()));
        let heading: Vec<String> =
            sheet.rows().next().unwrap().iter().map(ToString::to_string).collect();
        assert_eq!(heading.join(","), csv.lines().next().unwrap());
    }
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
