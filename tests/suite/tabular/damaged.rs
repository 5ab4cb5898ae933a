//! Files cut off anywhere or with a byte changed: a table or a clean error, never more. The changes
//! come from a generator with a fixed seed, so that a failure can be seen again.

use std::io::Cursor;
use std::sync::Arc;

use arrow::array::{ArrayRef, Float64Array, Int64Array, StringArray, TimestampMicrosecondArray};
use motetrail::tabular::{ParquetRows, Room, Workbook, unpack_zip};
use parquet::basic::{Compression, ZstdLevel};
use parquet::file::properties::WriterProperties;

use super::given::given;
use super::parquet_inputs::{file_of, written};
use super::workbook_files::{ods, xlsx, zipped};

/// Numbers that follow from a seed. Source: Steele, Lea and Flood (2014), SplitMix64 [constants
/// from memory].
struct Numbers(u64);

impl Numbers {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    fn below(&mut self, most: usize) -> usize {
        (self.next() % most as u64) as usize
    }
}

/// Reads `whole`, then cut off at many lengths, then with one to three bytes changed `times` times;
/// gives how many of the changed ones were refused.
fn torture(whole: &[u8], times: usize, read: impl Fn(&[u8]) -> Result<usize, String>) -> usize {
    let rows = read(whole).unwrap();
    assert!(rows > 1);
    for length in (0..whole.len()).step_by(1 + whole.len() / 400) {
        let error = read(&whole[..length]).unwrap_err();
        assert!(error.contains("expected") || error.contains("found"), "{length}: {error}");
    }
    let mut numbers = Numbers(2026);
    let mut refused = 0;
    for _ in 0..times {
        let mut bytes = whole.to_vec();
        for _ in 0..=numbers.below(3) {
            let at = numbers.below(bytes.len());
            bytes[at] ^= 1 + numbers.below(255) as u8;
        }
        refused += usize::from(read(&bytes).is_err_and(|error| !error.is_empty()));
    }
    refused
}

fn parquet(packing: Compression, dictionary: bool) -> Vec<u8> {
    let count = 300;
    let columns: Vec<(&str, ArrayRef)> = vec![
        ("id", Arc::new((0..count).collect::<Int64Array>())),
        (
            "port",
            Arc::new((0..count).map(|n| Some(format!("P{}", n % 9))).collect::<StringArray>()),
        ),
        ("loss", Arc::new((0..count).map(|n| n as f64 / 8.0).collect::<Float64Array>())),
        (
            "at",
            Arc::new(TimestampMicrosecondArray::from_iter_values(
                (0..count).map(|n| n * 1_000_000),
            )),
        ),
    ];
    let properties = WriterProperties::builder()
        .set_compression(packing)
        .set_dictionary_enabled(dictionary)
        .set_max_row_group_row_count(Some(100))
        .build();
    written(columns, properties)
}

fn read_parquet(bytes: &[u8]) -> Result<usize, String> {
    let mut rows =
        ParquetRows::open(file_of(bytes), Room::default()).map_err(|error| error.to_string())?;
    given(&mut rows).map(|rows| rows.len()).map_err(|error| error.to_string())
}

#[test]
fn damaged_parquet_files_give_an_error_or_a_table() {
    for (packing, dictionary) in [
        (Compression::ZSTD(ZstdLevel::default()), true),
        (Compression::SNAPPY, false),
        (Compression::UNCOMPRESSED, true),
    ] {
        let whole = parquet(packing, dictionary);
        let refused = torture(&whole, 600, read_parquet);
        assert!(refused > 50, "{packing:?}: {refused}");
    }
}

#[test]
fn every_byte_of_a_parquet_file_may_be_changed() {
    let ports: StringArray = (0..20).map(|n| Some(format!("P{}", n % 3))).collect();
    let whole = written(vec![("port", Arc::new(ports))], WriterProperties::default());
    for at in 0..whole.len() {
        for value in [0xFF, whole[at] ^ 0x80, whole[at] ^ 1] {
            let mut bytes = whole.clone();
            bytes[at] = value;
            if let Err(error) = read_parquet(&bytes) {
                assert!(error.contains("found"), "{at}: {error}");
            }
        }
    }
}

fn read_workbook(bytes: &[u8]) -> Result<usize, String> {
    let mut book = Workbook::open(Cursor::new(bytes), None, &[], Room::default())
        .map_err(|error| error.to_string())?;
    let mut rows = book.rows().map_err(|error| error.to_string())?;
    given(&mut rows).map(|rows| rows.len()).map_err(|error| error.to_string())
}

fn sheet() -> String {
    let row = |n: usize| {
        format!(
            "<row r=\"{n}\"><c r=\"A{n}\" t=\"s\"><v>{}</v></c><c r=\"B{n}\" s=\"1\">\
             <v>46086.{n}</v></c></row>",
            n % 2
        )
    };
    format!("<sheetData>{}</sheetData>", (1..40).map(row).collect::<String>())
}

const SHARED: &str = "<si><t>ok</t></si><si><t>nok</t></si>";
const STYLES: &str = "<cellXfs><xf numFmtId=\"0\"/><xf numFmtId=\"22\"/></cellXfs>";

fn table() -> String {
    let row = |n: usize| {
        format!(
            "<table:table-row><table:table-cell office:value-type=\"string\"><text:p>P{n}</text:p>\
             </table:table-cell><table:table-cell office:value-type=\"float\" office:value=\"{n}\"/>\
             </table:table-row>"
        )
    };
    let rows: String = (1..40).map(row).collect();
    format!("<table:table table:name=\"Log\">{rows}</table:table>")
}

#[test]
fn damaged_workbooks_give_an_error_or_a_table() {
    for whole in [xlsx(&sheet(), SHARED, STYLES), ods("", &table())] {
        assert!(torture(&whole, 600, read_workbook) > 50);
    }
}

/// Behind a checksum that fits: what an attacker would write.
#[test]
fn workbooks_whose_xml_is_changed_give_an_error_or_a_table() {
    let mut numbers = Numbers(7);
    for _ in 0..600 {
        let mut parts =
            [sheet(), SHARED.to_owned(), STYLES.to_owned(), table()].map(String::into_bytes);
        let part = numbers.below(parts.len());
        for _ in 0..=numbers.below(3) {
            let at = numbers.below(parts[part].len());
            parts[part][at] = b"<>/\"&; 0129AZr=_-"[numbers.below(17)];
        }
        let [sheet, shared, styles, table] = parts.map(|part| String::from_utf8(part).unwrap());
        let bytes = if part == 3 { ods("", &table) } else { xlsx(&sheet, &shared, &styles) };
        if let Err(error) = read_workbook(&bytes) {
            assert!(error.contains("found"), "{error}");
        }
    }
}

#[test]
fn damaged_zip_files_give_an_error_or_the_file() {
    let text = (0..200).map(|n| format!("{n};P{n};ok\n")).collect::<String>();
    let whole = zipped(&[("export.csv", &text)]);
    let refused = torture(&whole, 600, |bytes| {
        let (_, mut stream) = unpack_zip(Cursor::new(bytes)).map_err(|error| error.to_string())?;
        let count = std::io::copy(&mut stream, &mut std::io::sink());
        let count = count.map_err(|error| format!("found {error}"))?;
        Ok(count as usize)
    });
    assert!(refused > 50);
}
