//! Exports of every kind of file: the same rows come out, and files that need two readings are safe.

use std::fs::File;
use std::io::{Cursor, Write};
use std::sync::Arc;

use arrow::array::{ArrayRef, RecordBatch, StringArray};
use motetrail::records::Table;
use motetrail::store::StoreError;
use parquet::arrow::ArrowWriter;

use super::{Bench, account, standing};

const NAMES: [&str; 6] = ["No", "At", "Port", "Fibre", "Result", "Cleaned"];
const ROWS: [[&str; 6]; 3] = [
    ["1", "2026-01-02 08:00", "P1", "", "pass", "dry"],
    ["2", "2026-01-02 09:00", "P2", "1", "fail", ""],
    ["3", "2026-01-02 10:00", "P3", "", "maybe", ""],
];
/// What each of them must become: row 3 is refused.
const STANDING: [&str; 2] = ["1/P1//pass", "2/P2/1/fail"];

fn bench(file: &str, bytes: &[u8]) -> Bench {
    let mut bench = Bench::new();
    bench.plan.sources[0].files = vec!["exports/*".into()];
    std::fs::write(bench.export(file), bytes).unwrap();
    bench
}

/// The same where an export that cannot be read is an error.
fn strict(file: &str, bytes: &[u8]) -> Bench {
    let mut bench = bench(file, bytes);
    bench.plan.rules.strict = true;
    bench
}

fn comes_out(file: &str, bytes: &[u8]) {
    let bench = bench(file, bytes);
    let (store, _) = bench.take();
    assert_eq!(standing(&store, Table::Inspections), STANDING, "{file}");
    assert_eq!(account(&store, file), [3, 2, 0, 0, 1], "{file}");
    let refused = store.quarantine(9).unwrap();
    assert_eq!(refused.len(), 1);
    assert_eq!((refused[0].line, refused[0].column.as_deref()), (4, Some("Result")), "{file}");
    drop(store);
    let before = bench.bytes();
    drop(bench.take());
    assert_eq!(bench.bytes(), before, "{file} is known");
}

fn csv() -> Vec<u8> {
    let lines: Vec<String> = [NAMES].iter().chain(&ROWS).map(|row| row.join(",")).collect();
    (lines.join("\n") + "\n").into_bytes()
}

#[test]
fn a_workbook_yields_its_rows() {
    let mut book = rust_xlsxwriter::Workbook::new();
    book.add_worksheet().set_name("Notes").unwrap().write_string(0, 0, "nothing here").unwrap();
    let sheet = book.add_worksheet().set_name("Looks").unwrap();
    for (row, cells) in (0..).zip([NAMES].iter().chain(&ROWS)) {
        for (column, cell) in (0..).zip(cells) {
            sheet.write_string(row, column, *cell).unwrap();
        }
    }
    comes_out("looks.xlsx", &book.save_to_buffer().unwrap());
}

#[test]
fn a_parquet_file_yields_its_rows() {
    let column = |at: usize| -> ArrayRef {
        let cells = ROWS.iter().map(|row| Some(row[at]).filter(|cell| !cell.is_empty()));
        Arc::new(StringArray::from_iter(cells))
    };
    let columns = NAMES.iter().enumerate().map(|(at, name)| (*name, column(at), true));
    let batch = RecordBatch::try_from_iter_with_nullable(columns).unwrap();
    let mut bytes = Vec::new();
    let mut writer = ArrowWriter::try_new(&mut bytes, batch.schema(), None).unwrap();
    writer.write(&batch).unwrap();
    writer.close().unwrap();
    comes_out("looks.parquet", &bytes);
}

#[test]
fn json_lines_yield_their_rows_packed_or_not() {
    let mut text = String::from("\n");
    for row in ROWS {
        let pairs = NAMES.iter().zip(row).filter(|(_, cell)| !cell.is_empty());
        let pairs: Vec<String> =
            pairs.map(|(name, cell)| format!("{}:{}", quoted(name), quoted(cell))).collect();
        text += &format!("{{{}}}\n", pairs.join(","));
    }
    comes_out("looks.ndjson", text.as_bytes());
    comes_out("looks.jsonl.zst", &zstd::encode_all(text.as_bytes(), 1).unwrap());
}

fn quoted(text: &str) -> String {
    serde_json::to_string(text).unwrap()
}

#[test]
fn a_zip_file_with_one_member_yields_its_rows_and_one_with_two_is_refused() {
    let zipped = |members: &[&str]| {
        let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
        for name in members {
            zip.start_file(*name, zip::write::SimpleFileOptions::default()).unwrap();
            zip.write_all(&csv()).unwrap();
        }
        zip.finish().unwrap().into_inner()
    };
    comes_out("looks.csv.zip", &zipped(&["../../etc/looks.csv"]));
    let bench = strict("two.csv.zip", &zipped(&["a.csv", "b.csv"]));
    let mut store = bench.open();
    let error = store.take(&bench.plan, super::day(), &()).unwrap_err();
    assert!(matches!(error, StoreError::Export(_)));
    assert_eq!(
        error.to_string(),
        "exports/two.csv.zip: found a zip file with 2 files (\"a.csv\", \"b.csv\"), expected one; \
         unpack it and name the files in the source"
    );
}

#[test]
fn a_packed_workbook_is_refused_with_what_to_do() {
    let bench = strict("looks.xlsx.gz", b"\x1f\x8b");
    let error = bench.open().take(&bench.plan, super::day(), &()).unwrap_err();
    assert_eq!(
        error.to_string(),
        "exports/looks.xlsx.gz: found a workbook file packed with gzip, expected it unpacked; \
         unpack it"
    );
}

#[test]
fn a_damaged_parquet_file_is_named_and_leaves_the_store_as_it_was() {
    let bench = strict("good.csv", &csv());
    drop(bench.take());
    let before = bench.bytes();
    let mut file = File::create(bench.export("bad.parquet")).unwrap();
    file.write_all(b"PAR1 this is no such file PAR1").unwrap();
    let error = bench.open().take(&bench.plan, super::day(), &()).unwrap_err();
    assert!(error.to_string().starts_with("exports/bad.parquet: found damage ("), "{error}");
    assert_eq!(bench.bytes(), before);
}
