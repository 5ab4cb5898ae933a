//! Parquet files as rows of texts.

use std::fs::File;
use std::io::{Seek, Write};
use std::sync::Arc;

use arrow::array::{
    ArrayRef, BinaryArray, BooleanArray, Date32Array, Decimal128Array, DictionaryArray,
    FixedSizeBinaryArray, Float32Array, Float64Array, Int64Array, ListArray, MapBuilder,
    RecordBatch, StringArray, StringBuilder, StructArray, TimestampMicrosecondArray,
    TimestampMicrosecondBuilder, TimestampMillisecondArray, TimestampNanosecondArray,
    TimestampSecondArray, UInt64Array,
};
use arrow::buffer::OffsetBuffer;
use arrow::datatypes::{DataType, Field, Int32Type, Int64Type, TimeUnit};
use motetrail::tabular::{ParquetRows, Room, TableRows};
use parquet::arrow::ArrowWriter;
use parquet::basic::{Compression, GzipLevel, ZstdLevel};
use parquet::file::properties::WriterProperties;

use super::given::cells;

/// A file on disk with these bytes, gone when it is closed.
pub fn file_of(bytes: &[u8]) -> File {
    let mut file = tempfile::tempfile().unwrap();
    file.write_all(bytes).unwrap();
    file.rewind().unwrap();
    file
}

/// The bytes of a file with these columns.
pub fn written(columns: Vec<(&str, ArrayRef)>, properties: WriterProperties) -> Vec<u8> {
    let batch = RecordBatch::try_from_iter_with_nullable(
        columns.into_iter().map(|(name, column)| (name, column, true)),
    )
    .unwrap();
    let mut bytes = Vec::new();
    let mut writer = ArrowWriter::try_new(&mut bytes, batch.schema(), Some(properties)).unwrap();
    writer.write(&batch).unwrap();
    writer.close().unwrap();
    bytes
}

fn read(bytes: Vec<u8>) -> Vec<Vec<String>> {
    cells(&mut ParquetRows::open(file_of(&bytes), Room::default()).unwrap())
}

/// The texts of one column, its name first.
fn column(values: ArrayRef) -> Vec<String> {
    let bytes = written(vec![("x", values)], WriterProperties::default());
    read(bytes).into_iter().map(|mut row| row.remove(0)).collect()
}

#[test]
fn numbers_texts_and_truths_are_given_in_their_shortest_form() {
    let ints = Int64Array::from(vec![Some(i64::MIN), None, Some(5)]);
    assert_eq!(column(Arc::new(ints)), ["x", "-9223372036854775808", "", "5"]);
    let unsigned = UInt64Array::from(vec![u64::MAX]);
    assert_eq!(column(Arc::new(unsigned)), ["x", "18446744073709551615"]);
    let floats = Float64Array::from(vec![5.0, 0.1, -2.5, 1e300, 1e-7, -0.0]);
    assert_eq!(column(Arc::new(floats)), ["x", "5", "0.1", "-2.5", "1e300", "0.0000001", "0"]);
    let singles = Float32Array::from(vec![0.1, 16_777_216.0]);
    assert_eq!(column(Arc::new(singles)), ["x", "0.1", "16777216"]);
    let truths = BooleanArray::from(vec![true, false]);
    assert_eq!(column(Arc::new(truths)), ["x", "true", "false"]);
    let texts = StringArray::from(vec!["", "Größe", " a\tb\n"]);
    assert_eq!(column(Arc::new(texts)), ["x", "", "Größe", " a\tb\n"]);
    let money = Decimal128Array::from(vec![1250, -5]).with_precision_and_scale(10, 2).unwrap();
    assert_eq!(column(Arc::new(money)), ["x", "12.50", "-0.05"]);
}

#[test]
fn days_and_moments_are_given_by_iso_8601() {
    // 2026-03-05 is day 20,517 of 1970; 08:15 is 29,700 s into it.
    let seconds = 20_517 * 86_400 + 29_700;
    assert_eq!(column(Arc::new(Date32Array::from(vec![20_517]))), ["x", "2026-03-05"]);
    let local = TimestampMillisecondArray::from(vec![seconds * 1000]);
    assert_eq!(column(Arc::new(local)), ["x", "2026-03-05T08:15:00"]);
    let utc = TimestampMicrosecondArray::from(vec![seconds * 1_000_000 + 500_000])
        .with_timezone("Europe/Vienna");
    assert_eq!(column(Arc::new(utc)), ["x", "2026-03-05T08:15:00.500Z"]);
    let utc = TimestampNanosecondArray::from(vec![seconds * 1_000_000_000]).with_timezone("+00:00");
    assert_eq!(column(Arc::new(utc)), ["x", "2026-03-05T08:15:00Z"]);
    let far = TimestampMillisecondArray::from(vec![i64::MAX]);
    assert_eq!(column(Arc::new(far)), ["x", "9223372036854775807"]);
    // The format has no unit of seconds: such a column is written as plain numbers.
    let whole = TimestampSecondArray::from(vec![seconds]);
    assert_eq!(column(Arc::new(whole)), ["x", "1772698500"]);
}

#[test]
fn dictionaries_bytes_and_lists_are_given_as_text() {
    let words: DictionaryArray<Int32Type> =
        vec![Some("ok"), None, Some("nok")].into_iter().collect();
    assert_eq!(column(Arc::new(words)), ["x", "ok", "", "nok"]);
    let bytes = BinaryArray::from_vec(vec![b"P1", "Größe".as_bytes()]);
    assert_eq!(column(Arc::new(bytes)), ["x", "P1", "Größe"]);
    let raw: Vec<&[u8]> = vec![b"\xFF\x00\xAB", b"\x00", b"\x1B[2J", b"", b"a\tb"];
    let raw = column(Arc::new(BinaryArray::from_vec(raw)));
    assert_eq!(raw, ["x", "0xff00ab", "0x00", "0x1b5b324a", "", "a\tb"]);
    let fixed = FixedSizeBinaryArray::try_from_iter([[0xAB_u8, 0x01]].into_iter()).unwrap();
    assert_eq!(column(Arc::new(fixed)), ["x", "ab01"]);
    let list = ListArray::from_iter_primitive::<Int64Type, _, _>(vec![Some(vec![Some(1), None])]);
    assert_eq!(column(Arc::new(list)), ["x", "[1, ]"]);
}

/// One moment, in UTC by its name, inside each of the kinds that hold other values.
#[test]
fn moments_inside_structures_lists_and_maps_are_read() {
    let micros = 1_772_698_500_000_000;
    let moments = || TimestampMicrosecondArray::from(vec![micros]).with_timezone("UTC");
    let kind = DataType::Timestamp(TimeUnit::Microsecond, Some("UTC".into()));
    let field = Arc::new(Field::new("at", kind, true));
    let structure = StructArray::from(vec![(Arc::clone(&field), Arc::new(moments()) as ArrayRef)]);
    assert_eq!(column(Arc::new(structure)), ["x", "{at: 2026-03-05T08:15:00Z}"]);
    let offsets = OffsetBuffer::new(vec![0, 1].into());
    let list = ListArray::new(Arc::clone(&field), offsets, Arc::new(moments()), None);
    assert_eq!(column(Arc::new(list)), ["x", "[2026-03-05T08:15:00Z]"]);
    let mut map = MapBuilder::new(
        None,
        StringBuilder::new(),
        TimestampMicrosecondBuilder::new().with_timezone("UTC"),
    );
    map.keys().append_value("opened");
    map.values().append_value(micros);
    map.append(true).unwrap();
    assert_eq!(column(Arc::new(map.finish())), ["x", "{opened: 2026-03-05T08:15:00Z}"]);
}

#[test]
fn every_packing_and_many_row_groups_give_the_same_rows_in_order() {
    let count = 5000;
    let ids: Int64Array = (0..count).collect();
    let names: StringArray = (0..count).map(|n| Some(format!("P{}", n % 7))).collect();
    let packings = [
        Compression::UNCOMPRESSED,
        Compression::SNAPPY,
        Compression::GZIP(GzipLevel::default()),
        Compression::LZ4_RAW,
        Compression::ZSTD(ZstdLevel::default()),
    ];
    for packing in packings {
        let properties = WriterProperties::builder()
            .set_compression(packing)
            .set_max_row_group_row_count(Some(777))
            .set_data_page_row_count_limit(50)
            .build();
        let columns: Vec<(&str, ArrayRef)> =
            vec![("id", Arc::new(ids.clone())), ("name", Arc::new(names.clone()))];
        let rows = read(written(columns, properties));
        assert_eq!(rows.len(), 1 + count as usize, "{packing:?}");
        for (n, row) in rows[1..].iter().enumerate() {
            assert_eq!(*row, [n.to_string(), format!("P{}", n % 7)]);
        }
    }
}

#[test]
fn lines_are_record_numbers_behind_the_names() {
    let bytes = written(
        vec![("a", Arc::new(Int64Array::from(vec![7, 8])) as ArrayRef)],
        WriterProperties::default(),
    );
    let mut rows = ParquetRows::open(file_of(&bytes), Room::default()).unwrap();
    for line in 1..=3 {
        assert_eq!(rows.line(), line);
        assert_eq!(rows.next_row().unwrap().unwrap().line, line);
    }
    assert!(rows.next_row().unwrap().is_none());
}

#[test]
fn what_is_no_parquet_file_is_refused_with_a_reason() {
    let bytes = written(
        vec![("a", Arc::new(Int64Array::from(vec![7])) as ArrayRef)],
        WriterProperties::default(),
    );
    let refused = |bytes: &[u8]| {
        ParquetRows::open(file_of(bytes), Room::default()).err().unwrap().to_string()
    };
    assert!(refused(b"").contains("0 bytes are too few"));
    assert!(refused(b"a;b\n1;2\n3;4\n5;6\n").contains("PAR1"));
    assert!(refused(&bytes[..bytes.len() - 1]).contains("PAR1"));
    let mut locked = bytes.clone();
    let end = locked.len();
    locked[end - 4..].copy_from_slice(b"PARE");
    assert!(refused(&locked).contains("password"));
    let mut absurd = bytes.clone();
    absurd[end - 8..end - 4].copy_from_slice(&u32::MAX.to_le_bytes());
    assert!(refused(&absurd).contains("4294967295 bytes is longer than the file"));
}

#[test]
fn a_column_that_unpacks_to_far_too_much_is_a_bomb() {
    let long = "x".repeat(1 << 20);
    let texts: StringArray = (0..80).map(|_| Some(long.as_str())).collect();
    let properties = WriterProperties::builder()
        .set_dictionary_enabled(false)
        .set_compression(Compression::ZSTD(ZstdLevel::default()))
        .build();
    let bytes = written(vec![("a", Arc::new(texts))], properties);
    assert!(bytes.len() < 80_000, "{}", bytes.len());
    let error = ParquetRows::open(file_of(&bytes), Room::default()).err().unwrap().to_string();
    assert!(error.contains("packed bytes that become more than"), "{error}");
}

#[test]
fn columns_packed_in_a_way_that_is_not_read_are_named() {
    let properties = WriterProperties::builder().set_compression(Compression::SNAPPY).build();
    let ids: ArrayRef = Arc::new(Int64Array::from(vec![7]));
    let bytes = written(vec![("a", ids)], properties);
    // In the footer the packing is one byte, twice its number: 1 is snappy, 4 brotli.
    let errors: Vec<String> = (0..bytes.len())
        .filter(|&at| bytes[at] == 2)
        .filter_map(|at| {
            let mut changed = bytes.clone();
            changed[at] = 8;
            ParquetRows::open(file_of(&changed), Room::default())
                .err()
                .map(|error| error.to_string())
        })
        .collect();
    let named = |error: &String| error.contains("packed as BROTLI") && error.contains("or zstd");
    assert!(errors.iter().any(named), "{errors:?}");
}
