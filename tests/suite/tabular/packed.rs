//! Unpacking: what is packed comes out whole, and what is not whole or too much is said.

use std::io::{Cursor, Read, Write};

use flate2::write::GzEncoder;
use motetrail::tabular::{Compression, Format, unpack_zip};
use zip::CompressionMethod;
use zip::write::{SimpleFileOptions, ZipWriter};

fn gzip(bytes: &[u8]) -> Vec<u8> {
    let mut encoder = GzEncoder::new(Vec::new(), flate2::Compression::fast());
    encoder.write_all(bytes).unwrap();
    encoder.finish().unwrap()
}

fn zipped(files: &[(&str, &[u8])], method: CompressionMethod) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        zip.start_file(*name, SimpleFileOptions::default().compression_method(method)).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

fn deflated(files: &[(&str, &[u8])]) -> Vec<u8> {
    zipped(files, CompressionMethod::Deflated)
}

fn unpacked(packing: Compression, bytes: &[u8]) -> Result<Vec<u8>, String> {
    let mut all = Vec::new();
    let mut stream = packing.unpack_file(Cursor::new(bytes)).map_err(|error| error.to_string())?;
    stream.read_to_end(&mut all).map_err(|error| error.to_string())?;
    Ok(all)
}

const TABLE: &[u8] = b"Port;Result\nP1;ok\nP2;nok\n";

#[test]
fn packing_is_told_by_ending_and_by_the_first_bytes() {
    let zst = zstd::encode_all(TABLE, 3).unwrap();
    for (name, packing, bytes) in [
        ("a.csv", Compression::None, TABLE.to_vec()),
        ("a.CSV.GZ", Compression::Gzip, gzip(TABLE)),
        ("a.csv.zst", Compression::Zstd, zst),
        ("a.zip", Compression::Zip, deflated(&[("a.csv", TABLE)])),
    ] {
        assert_eq!(Compression::of(name), packing);
        assert_eq!(Compression::of_magic(&bytes), packing);
        assert_eq!(unpacked(packing, &bytes).unwrap(), TABLE, "{name}");
        assert_eq!(Format::of(name), Format::Text);
    }
    for (name, format) in [
        ("a.xlsx", Format::Workbook),
        ("B.ODS", Format::Workbook),
        ("a.parquet", Format::Parquet),
        ("a.ndjson.gz", Format::JsonLines),
        ("a.jsonl.zip", Format::JsonLines),
    ] {
        assert_eq!(Format::of(name), format, "{name}");
    }
}

#[test]
fn formats_are_told_by_the_first_bytes() {
    let ods = zipped(
        &[("mimetype", b"application/vnd.oasis.opendocument.spreadsheet"), ("content.xml", b"")],
        CompressionMethod::Stored,
    );
    assert_eq!(Format::of_magic(&ods), Some(Format::Workbook));
    let xlsx = deflated(&[("[Content_Types].xml", b"<Types/>"), ("xl/workbook.xml", b"")]);
    assert_eq!(Format::of_magic(&xlsx), Some(Format::Workbook));
    assert_eq!(Format::of_magic(&deflated(&[("table.csv", TABLE)])), None);
    assert_eq!(Format::of_magic(b"PAR1\x15\x04"), Some(Format::Parquet));
    assert_eq!(Format::of_magic(b"\n{\"a\":1}\n{\"a\":2}\n"), Some(Format::JsonLines));
    assert_eq!(Format::of_magic(b"\xEF\xBB\xBF{ \"a\": \"cut o"), Some(Format::JsonLines));
    assert_eq!(Format::of_magic(b"{id};{name}\n1;2\n"), None);
    assert_eq!(Format::of_magic(TABLE), None);
}

#[test]
fn the_name_of_a_member_is_no_path() {
    for name in ["../../outside.csv", "/etc/table.csv", "C:\\table.csv", "a/b/c.csv"] {
        let bytes = deflated(&[(name, TABLE)]);
        let (given, mut stream) = unpack_zip(Cursor::new(bytes)).unwrap();
        let mut all = Vec::new();
        stream.read_to_end(&mut all).unwrap();
        assert_eq!(all, TABLE, "{given}");
    }
}

#[test]
fn folders_and_resource_forks_are_no_members() {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    zip.add_directory("export", SimpleFileOptions::default()).unwrap();
    for (name, bytes) in [("export/a.csv", TABLE), ("__MACOSX/export/._a.csv", b"fork")] {
        let stored = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
        zip.start_file(name, stored).unwrap();
        zip.write_all(bytes).unwrap();
    }
    let bytes = zip.finish().unwrap().into_inner();
    assert_eq!(unpacked(Compression::Zip, &bytes).unwrap(), TABLE);
}

#[test]
fn zip_files_with_no_or_several_members_are_refused_by_name() {
    let none = unpacked(Compression::Zip, &deflated(&[])).unwrap_err();
    assert!(none.contains("nothing in it"), "{none}");
    let files: Vec<String> = (0..7).map(|n| format!("part{n}.csv")).collect();
    let files: Vec<(&str, &[u8])> = files.iter().map(|name| (name.as_str(), TABLE)).collect();
    let several = unpacked(Compression::Zip, &deflated(&files)).unwrap_err();
    assert!(several.contains("7 files (\"part0.csv\", "), "{several}");
    assert!(several.contains("\"part4.csv\", ...)"), "{several}");
}

#[test]
fn a_locked_zip_file_is_refused() {
    let mut bytes = deflated(&[("a.csv", TABLE)]);
    // Bit 0 of the flags in the member's head and in the directory: encrypted.
    let directory = bytes.windows(4).position(|four| four == b"PK\x01\x02").unwrap();
    bytes[6] |= 1;
    bytes[directory + 8] |= 1;
    let error = unpacked(Compression::Zip, &bytes).unwrap_err();
    assert!(error.contains("locked with a password"), "{error}");
}

#[test]
fn a_zip_file_in_a_stream_is_refused() {
    let error = Compression::Zip.unpack(TABLE).err().unwrap().to_string();
    assert!(error.contains("expected a file on disk"), "{error}");
}

#[test]
fn several_gzip_members_are_one_text_and_bytes_behind_are_damage() {
    let two = [gzip(b"a;b\n"), gzip(b"1;2\n")].concat();
    assert_eq!(unpacked(Compression::Gzip, &two).unwrap(), b"a;b\n1;2\n");
    let zst = zstd::encode_all(TABLE, 3).unwrap();
    for (packing, whole) in [(Compression::Gzip, gzip(TABLE)), (Compression::Zstd, zst)] {
        assert!(unpacked(packing, &[whole.as_slice(), b"garbage behind"].concat()).is_err());
        for length in 1..whole.len() {
            assert!(unpacked(packing, &whole[..length]).is_err(), "{packing:?} to {length}");
        }
    }
}

#[test]
fn a_zip_member_whose_length_or_checksum_is_wrong_is_damaged() {
    for method in [CompressionMethod::Deflated, CompressionMethod::Stored] {
        let whole = zipped(&[("a.csv", TABLE)], method);
        let directory = whole.windows(4).position(|four| four == b"PK\x01\x02").unwrap();
        // In the directory: the checksum at 16, the unpacked length at 24.
        for (place, value) in [(16, !whole[directory + 16]), (24, 2), (24, 200)] {
            let mut bytes = whole.clone();
            bytes[directory + place] = value;
            assert!(unpacked(Compression::Zip, &bytes).is_err(), "{method} {place} {value}");
        }
    }
}

#[test]
fn bombs_end_in_an_error_and_are_never_held() {
    // 68 MiB of zeros: more than the 64 MiB that are always let through.
    let zeros = vec![0; 4 << 20];
    let mut encoder = GzEncoder::new(Vec::new(), flate2::Compression::best());
    encoder.write_all(&zeros).unwrap();
    let gzip = encoder.finish().unwrap().repeat(17);
    let zst = zstd::encode_all(zeros.as_slice(), 1).unwrap().repeat(17);
    for (packing, bytes) in [(Compression::Gzip, gzip), (Compression::Zstd, zst)] {
        let mut stream = packing.unpack_file(Cursor::new(&bytes)).unwrap();
        let error = std::io::copy(&mut stream, &mut std::io::sink()).unwrap_err().to_string();
        assert!(error.contains("no more than 1000 times as many"), "{packing:?}: {error}");
    }
}

#[test]
fn a_zip_file_whose_directory_promises_far_too_much_is_refused() {
    let mut bytes = deflated(&[("a.csv", TABLE)]);
    let directory = bytes.windows(4).position(|four| four == b"PK\x01\x02").unwrap();
    bytes[directory + 24..directory + 28].copy_from_slice(&(100u32 << 20).to_le_bytes());
    let error = unpacked(Compression::Zip, &bytes).unwrap_err();
    assert!(error.contains("become more than 104857600"), "{error}");
}

#[test]
fn a_member_longer_than_its_directory_says_stops_there() {
    let text = b"x".repeat(1 << 20);
    let mut bytes = deflated(&[("a.csv", &text)]);
    let directory = bytes.windows(4).position(|four| four == b"PK\x01\x02").unwrap();
    bytes[directory + 24..directory + 28].copy_from_slice(&100u32.to_le_bytes());
    let error = unpacked(Compression::Zip, &bytes).unwrap_err();
    assert!(error.contains("longer than the directory says"), "{error}");
}
