//! Parts as they are read and as they are written.

use std::fmt::Write;
use std::fs::File;

use arrow::array::{AsArray, RecordBatch};
use arrow::datatypes::{DataType, Int64Type};
use motetrail::records::{Table, schema};
use motetrail::store::StoreError;
use parquet::basic::{Compression, Encoding};
use parquet::file::reader::{FileReader, SerializedFileReader};

use super::Bench;

/// 150,000 rows; every third of the first 100,000 is the copy of the row before.
fn long() -> Bench {
    let mut rows = String::new();
    for row in 0..150_000 {
        let record = if row < 100_000 && row % 3 == 2 { row - 1 } else { row };
        let minute = record % 60;
        writeln!(rows, "{record},2026-01-02 08:{minute:02},P{record},,pass,").unwrap();
    }
    Bench::with(&[("long.csv", &rows)])
}

#[test]
fn only_standing_records_are_read_in_bounded_batches_and_in_order() {
    let bench = long();
    let (store, _) = bench.take();
    let part = store.parts(Table::Inspections).remove(0);
    assert_eq!(part.rows, 150_000 - 33_333);
    let batches: Vec<RecordBatch> =
        store.read(&part, &["seq", "site"]).unwrap().collect::<Result<_, _>>().unwrap();
    let mut last = -1;
    let mut rows = 0;
    for batch in &batches {
        assert!(batch.num_rows() <= 65_536);
        rows += batch.num_rows() as u64;
        for seq in batch.column_by_name("seq").unwrap().as_primitive::<Int64Type>().values() {
            assert!(*seq > last && (*seq >= 100_000 || seq % 3 != 2), "{seq} after {last}");
            last = *seq;
        }
    }
    assert_eq!(rows, part.rows);
}

#[test]
fn columns_come_in_the_order_of_the_schema_and_codes_stay_dictionaries() {
    let bench = Bench::with(&[("a.csv", "1,2026-01-02 08:00,P1,,pass,\n")]);
    let (store, _) = bench.take();
    let part = store.parts(Table::Inspections).remove(0);
    let batch = store.read(&part, &["outcome", "at", "record"]).unwrap().next().unwrap().unwrap();
    let read = batch.schema();
    let names: Vec<&str> = read.fields().iter().map(|field| field.name().as_str()).collect();
    assert_eq!(names, ["record", "at", "outcome"]);
    assert!(matches!(batch.column(2).data_type(), DataType::Dictionary(..)));
    let all = store.read(&part, &[]).unwrap().next().unwrap().unwrap();
    assert_eq!(all.schema().fields(), schema(Table::Inspections).fields());
}

#[test]
fn a_column_that_does_not_exist_is_named() {
    let bench = Bench::with(&[("a.csv", "1,2026-01-02 08:00,P1,,pass,\n")]);
    let (store, _) = bench.take();
    let part = store.parts(Table::Inspections).remove(0);
    let error = store.read(&part, &["colour"]).err().unwrap();
    assert!(matches!(&error, StoreError::NoColumn { column, .. } if column == "colour"), "{error}");
}

#[test]
fn parts_say_where_they_come_from() {
    let bench = Bench::with(&[("a.csv", "1,2026-01-02 08:00,P1,,pass,\n")]);
    drop(bench.take());
    let reader = SerializedFileReader::new(File::open(bench.only("parts")).unwrap()).unwrap();
    let pairs = reader.metadata().file_metadata().key_value_metadata().unwrap();
    let value =
        |key: &str| pairs.iter().find(|pair| pair.key == key).unwrap().value.clone().unwrap();
    assert_eq!(value("schema_version"), "2");
    assert_eq!(value("source"), "bench");
    assert_eq!(value("file"), "exports/a.csv");
    let bytes = std::fs::read(bench.export("a.csv")).unwrap();
    assert_eq!(value("file_blake3"), blake3::hash(&bytes).to_hex().as_str());
    assert_eq!(value("timezone"), "UTC");
    assert_eq!(value("end_face_names"), "fleet");
    assert_eq!(value("one_name_both_sides"), "false");
    assert_eq!(value("map_digest").len(), 64);
}

/// Encodings and compression of a column of the only part.
fn written(bench: &Bench, name: &str) -> (Vec<Encoding>, Compression) {
    let reader = SerializedFileReader::new(File::open(bench.only("parts")).unwrap()).unwrap();
    let columns = reader.metadata().row_group(0).columns();
    let column = columns.iter().find(|column| column.column_path().string() == name).unwrap();
    (column.encodings().collect(), column.compression())
}

#[test]
fn columns_are_encoded_by_kind() {
    let bench =
        Bench::with(&[("a.csv", "1,2026-01-02 08:00,P1,,pass,\n2,2026-01-02 08:00,P1,,pass,\n")]);
    drop(bench.take());
    for (name, encoding) in [
        ("record", Encoding::DELTA_BYTE_ARRAY),
        ("end_face", Encoding::DELTA_BYTE_ARRAY),
        ("at", Encoding::DELTA_BINARY_PACKED),
        ("seq", Encoding::DELTA_BINARY_PACKED),
        ("row", Encoding::DELTA_BINARY_PACKED),
        ("outcome", Encoding::RLE_DICTIONARY),
        ("identity", Encoding::PLAIN),
    ] {
        let (encodings, _) = written(&bench, name);
        assert!(encodings.contains(&encoding), "{name}: {encodings:?}");
    }
    for name in ["identity", "member", "content"] {
        assert_eq!(written(&bench, name).1, Compression::UNCOMPRESSED, "{name}");
    }
}

/// A text and a time of a part of so many rows: whether they are compressed.
fn is_compressed(rows: usize) -> [bool; 2] {
    let row = |number: usize| format!("{number},2026-01-02 08:00,P1,,pass,\n");
    let export: String = (1..=rows).map(row).collect();
    let bench = Bench::with(&[("a.csv", &export)]);
    drop(bench.take());
    ["record", "at"].map(|name| matches!(written(&bench, name).1, Compression::ZSTD(_)))
}

#[test]
fn of_short_exports_texts_alone_are_compressed_and_of_the_shortest_nothing() {
    assert_eq!(is_compressed(1_023), [false, false]);
    assert_eq!(is_compressed(1_024), [true, false]);
    assert_eq!(is_compressed(65_536), [true, true]);
}
