//! Small files that would take much memory: each is read, or refused by name with what allows more of
//! it, within what the settings allow by default.

use std::fs::File;
use std::io::Write;
use std::sync::Arc;

use arrow::array::{ArrayRef, RecordBatch, StringArray};
use parquet::arrow::ArrowWriter;
use parquet::basic::{Compression, ZstdLevel};
use parquet::file::properties::WriterProperties;

use super::{Done, LOOKS, LOOKS_HEADER, Place};
use crate::fuzz::Draws;
use crate::tabular::workbook_files::{ods, xlsx, zipped};

/// Most memory that any command may take, MiB: the default of `memory_mib`.
const MOST_MIB: u64 = 256;

/// Looks at a file, drafts a map for it and takes it in; each must stay below the bound and end well, or
/// name the file. What the three say.
fn taken(name: &str, bytes: &[u8]) -> [Done; 3] {
    let place = Place::new(&[LOOKS]);
    place.write(name, bytes);
    let done = [&["peek", name][..], &["map", name], &["intake", "fleet.toml"]];
    let done = done.map(|arguments| (place.run(arguments), arguments[0]));
    for (done, command) in &done {
        let (peak, stderr) = (done.peak_mib, &done.stderr);
        // The peak is polled: a refusal that takes a millisecond may end unseen, and then took nothing.
        assert!(peak < MOST_MIB, "{command} {name}: {peak} MiB {stderr}");
        match done.code {
            Some(0 | 1) => {}
            Some(3) => assert!(stderr.contains(name) && stderr.len() < 5000, "{command}: {stderr}"),
            code => panic!("{command} {name}: {code:?} {stderr}"),
        }
    }
    done.map(|(done, _)| done)
}

/// Asserts that all three commands refuse it, with the key that allows it.
fn assert_no_room(name: &str, bytes: &[u8], what: &str) {
    for done in taken(name, bytes) {
        assert_eq!(done.code, Some(3), "{}", done.stderr);
        let told = done.stderr.contains(what) && done.stderr.contains("MiB of memory, expected at");
        assert!(told && done.stderr.contains("raise `memory_mib`"), "{}", done.stderr);
    }
}

/// A row of a sheet with these texts from its first column on, and one in its last.
fn wide_row(row: usize, texts: &[&str]) -> String {
    let cell = |(place, text): (usize, &&str)| {
        let column = char::from(b'A' + place as u8);
        format!("<c r=\"{column}{row}\" t=\"str\"><v>{text}</v></c>")
    };
    let cells: String = texts.iter().enumerate().map(cell).collect();
    format!("<row r=\"{row}\">{cells}<c r=\"XFD{row}\"><v>1</v></c></row>")
}

#[test]
fn cells_far_apart_in_many_rows_are_read() {
    let header: Vec<&str> = LOOKS_HEADER.trim().split(',').collect();
    let mut sheet = wide_row(1, &header);
    let rows = 20_000;
    for row in 2..=rows {
        sheet +=
            &wide_row(row, &[&row.to_string(), "2026-02-01 08:00", "N", "A1", "incoming", "pass"]);
    }
    let bytes = xlsx(&format!("<sheetData>{sheet}</sheetData>"), "", "");
    let [peek, map, intake] = taken("looks.xlsx", &bytes);
    assert!(peek.stdout.contains("16384 columns"), "{}", peek.stdout);
    assert_eq!((peek.code, map.code, intake.code), (Some(0), Some(0), Some(0)), "{}", map.stderr);
    assert_eq!(intake.rows(), [rows as u64 - 1, rows as u64 - 1, 0]);
}

#[test]
fn keys_by_the_thousand_in_one_line_above_many_are_read() {
    let keys: Vec<String> = (0..9990).map(|key| format!("\"k{key}\":1")).collect();
    let text = format!("{{{}}}\n{}", keys.join(","), "{}\n".repeat(20_000));
    let [peek, map, intake] = taken("looks.ndjson", text.as_bytes());
    assert!(peek.stdout.contains("9990 columns"), "{}", peek.stdout);
    assert_eq!((peek.code, map.code), (Some(0), Some(0)), "{}", map.stderr);
    assert!(intake.stderr.contains("is not in the header"), "{}", intake.stderr);
}

#[test]
fn shared_texts_by_the_million_are_weighed_by_how_many_they_are() {
    let sheet = "<sheetData><row r=\"1\"><c r=\"A1\" t=\"s\"><v>0</v></c></row></sheetData>";
    let bytes = xlsx(sheet, &"<si/>".repeat(10_000_000), "");
    assert_no_room("looks.xlsx", &bytes, "texts, styles and names of a workbook");
    // With more room the file is read.
    let place = Place::new(&[LOOKS]);
    place.write("looks.xlsx", bytes);
    let done = place.run(&["peek", "looks.xlsx", "--memory-mib", "2048"]);
    assert_eq!(done.code, Some(0), "{}", done.stderr);
}

/// A workbook with a header and a look, whose list of shared texts says that it has so many.
fn promising(promised: &str, id: usize) -> Vec<u8> {
    let header: Vec<&str> = LOOKS_HEADER.trim().split(',').collect();
    let id = id.to_string();
    let look = [id.as_str(), "2026-02-01 08:00", "N", "A1", "incoming", "pass"];
    let sheet = format!("<sheetData>{}{}</sheetData>", wide_row(1, &header), wide_row(2, &look));
    let written = xlsx(&sheet, "<si><t>id</t></si>", "");
    let mut archive = zip::ZipArchive::new(std::io::Cursor::new(written)).unwrap();
    let mut files = Vec::new();
    for at in 0..archive.len() {
        let mut file = archive.by_index(at).unwrap();
        let mut text = String::new();
        std::io::Read::read_to_string(&mut file, &mut text).unwrap();
        let list = format!("<sst uniqueCount=\"{promised}\" ");
        files.push((file.name().unwrap().into_owned(), text.replace("<sst ", &list)));
    }
    let files: Vec<_> = files.iter().map(|(n, t)| (n.as_str(), t.as_str())).collect();
    zipped(&files)
}

#[test]
fn a_list_of_texts_that_says_it_is_endless_is_not_believed() {
    for promised in ["1000000000000", "18446744073709551615"] {
        let bytes = promising(promised, 1);
        assert_no_room("looks.xlsx", &bytes, "texts, styles and names of a workbook");
    }
}

#[test]
fn workbooks_too_large_to_be_read_side_by_side_are_read_one_by_one() {
    let place = Place::new(&[LOOKS]);
    for id in 1..=3 {
        place.write(&format!("looks{id}.xlsx"), promising("3000000", id));
    }
    let done = place.intake();
    assert_eq!(done.rows(), [3, 3, 0]);
    assert!(done.peak_mib < MOST_MIB, "{} MiB", done.peak_mib);
    // Where the settings give all of them no more than one may take beside others, they are refused.
    let small = Place::new(&[LOOKS]);
    let settings = std::fs::read_to_string(small.folder.join("fleet.toml")).unwrap();
    small.write("fleet.toml", settings.replace("[rules]", "[rules]\nmemory_mib = 96"));
    small.write("looks1.xlsx", promising("3000000", 1));
    let done = small.intake();
    assert_eq!(done.code, Some(3));
    assert!(done.stderr.contains("raise `memory_mib` under [rules]"), "{}", done.stderr);
    assert!(done.stderr.contains("to 138"), "{}", done.stderr);
}

#[test]
fn styles_that_each_hold_a_long_code_are_weighed() {
    let sheet = "<sheetData><row r=\"1\"><c r=\"A1\"><v>0</v></c></row></sheetData>";
    let code = "0".repeat(1 << 20);
    let styles = format!(
        "<numFmts><numFmt numFmtId=\"200\" formatCode=\"{code}\"/></numFmts><cellXfs>{}</cellXfs>",
        "<xf numFmtId=\"200\"/>".repeat(2000)
    );
    assert_no_room(
        "looks.xlsx",
        &xlsx(sheet, "", &styles),
        "texts, styles and names of a workbook",
    );
}

#[test]
fn a_line_of_a_million_commas_takes_little_memory() {
    let commas = ",".repeat((1 << 20) - 1);
    let [peek, map, _] = taken("looks.csv", format!("a{commas}\nb{commas}\n").as_bytes());
    for done in [peek, map] {
        assert!(done.stderr.contains("raise `memory_mib`"), "{}", done.stderr);
    }
    // Rows of nothing but empty cells are no records, however wide.
    let [peek, ..] = taken("looks.csv", format!("{commas}\n{commas}\n").as_bytes());
    assert_eq!(peek.code, Some(0), "{}", peek.stderr);
}

#[test]
fn very_many_very_short_lines_take_little_memory() {
    let [peek, map, _] = taken("looks.csv", "a\n".repeat(4 << 20).as_bytes());
    assert_eq!((peek.code, map.code), (Some(0), Some(0)), "{}", map.stderr);
}

#[test]
fn keys_that_grow_as_objects_stand_in_one_another_are_weighed() {
    let outer = "k".repeat(500_000);
    let inner: Vec<String> = (0..9000).map(|key| format!("\"{key}\":1")).collect();
    let text = format!("{{\"{outer}\":{{{}}}}}\n", inner.join(","));
    assert_no_room("looks.ndjson", text.as_bytes(), "keys of objects");
}

/// A Parquet file of texts, `columns` of them alike; no dictionary unless it is wanted.
fn parquet(columns: usize, texts: &[String], dictionary: bool) -> Vec<u8> {
    let column: ArrayRef = Arc::new(StringArray::from_iter_values(texts));
    let named = (0..columns).map(|place| (format!("c{place}"), Arc::clone(&column)));
    let batch = RecordBatch::try_from_iter(named).unwrap();
    let properties = WriterProperties::builder()
        .set_dictionary_enabled(dictionary)
        .set_dictionary_page_size_limit(64 << 20)
        .set_data_page_size_limit(1 << 30)
        .set_write_batch_size(1)
        .set_compression(Compression::ZSTD(ZstdLevel::default()))
        .build();
    let mut bytes = Vec::new();
    let mut writer = ArrowWriter::try_new(&mut bytes, batch.schema(), Some(properties)).unwrap();
    writer.write(&batch).unwrap();
    writer.close().unwrap();
    bytes
}

/// Text of its own for every number that packs well, though not a thousand times.
fn dull(number: u64, length: usize) -> String {
    let mut draws = Draws::new(number);
    let block = |_| format!("{:08x}", draws.below(1 << 32)).repeat(512);
    (0..length / 4096).map(block).collect()
}

#[test]
fn pages_of_many_columns_are_weighed_together() {
    let texts: Vec<String> = (0..4).map(|row| dull(row, 1 << 20)).collect();
    let bytes = parquet(40, &texts, false);
    assert!(bytes.len() < 4 << 20, "{}", bytes.len());
    assert_no_room("looks.parquet", &bytes, "pages of a Parquet file");
}

#[test]
fn one_long_word_of_a_dictionary_in_every_row_is_read_in_small_batches() {
    let bytes = parquet(4, &vec![dull(7, 1 << 20); 100], true);
    assert!(bytes.len() < 1 << 20, "{}", bytes.len());
    let [peek, ..] = taken("looks.parquet", &bytes);
    assert_eq!(peek.code, Some(0), "{}", peek.stderr);
}

#[test]
fn names_of_elements_without_end_are_refused() {
    let name = "n".repeat(3 << 20);
    let deep: String = (0..20).map(|_| format!("<{name}>")).collect();
    for done in taken("looks.xlsx", &xlsx(&deep, "", "")) {
        assert!(done.stderr.contains("a name without end"), "{}", done.stderr);
    }
    for done in taken("looks.ods", &ods("", &deep)) {
        assert!(done.stderr.contains("a name without end"), "{}", done.stderr);
    }
}

#[test]
fn a_list_of_files_without_end_is_not_held() {
    let place = Place::new(&[LOOKS]);
    let mut zip = zip::ZipWriter::new(File::create(place.folder.join("looks.xlsx")).unwrap());
    for number in 0..120_000 {
        let name = format!("xl/{number:080}");
        zip.start_file(name, zip::write::SimpleFileOptions::default()).unwrap();
    }
    zip.write_all(b"x").unwrap();
    zip.finish().unwrap();
    for arguments in [&["peek", "looks.xlsx"][..], &["intake", "fleet.toml"]] {
        let done = place.run(arguments);
        assert!(done.peak_mib > 0 && done.peak_mib < MOST_MIB, "{} MiB", done.peak_mib);
        assert_eq!(done.code, Some(3));
        assert!(done.stderr.contains("list of files"), "{}", done.stderr);
    }
}
