//! The demo exports of text: what is detected with nothing given is what their settings say.

use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};

use flate2::read::MultiGzDecoder;
use motetrail::settings::Separator;
use motetrail::tabular::detect::{Sample, detect};
use toml::{Table, Value};

fn demo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("data-demo")
}

/// Files of text that a pattern with one star in its file name matches, in order.
fn files_of(pattern: &str) -> Vec<PathBuf> {
    let pattern = demo().join(pattern);
    let name = pattern.file_name().unwrap().to_str().unwrap();
    let (before, behind) = name.split_once('*').unwrap_or((name, ""));
    let entries = fs::read_dir(pattern.parent().unwrap()).unwrap();
    let mut files: Vec<PathBuf> = entries
        .map(|entry| entry.unwrap().path())
        .filter(|path| {
            let name = path.file_name().unwrap().to_str().unwrap();
            let text = [".csv", ".txt", ".csv.gz", ".txt.gz"].iter().any(|end| name.ends_with(end));
            text && name.starts_with(before) && name.ends_with(behind)
        })
        .collect();
    files.sort();
    files
}

fn unpacked(path: &Path) -> Vec<u8> {
    let bytes = fs::read(path).unwrap();
    if path.extension().is_none_or(|ending| ending != "gz") {
        return bytes;
    }
    let mut text = Vec::new();
    MultiGzDecoder::new(&bytes[..]).read_to_end(&mut text).unwrap();
    text
}

fn text_of<'a>(source: &'a Table, key: &str, default: &'a str) -> &'a str {
    source.get(key).and_then(Value::as_str).unwrap_or(default)
}

#[test]
fn every_demo_export_is_detected_as_its_settings_say() {
    let settings: Table = fs::read_to_string(demo().join("fleet.toml")).unwrap().parse().unwrap();
    let mut seen = 0;
    for source in settings["source"].as_array().unwrap() {
        let source = source.as_table().unwrap();
        for pattern in source["files"].as_array().unwrap() {
            for path in files_of(pattern.as_str().unwrap()) {
                let sample = Sample { head: unpacked(&path), whole: true, tail: None };
                let dialect = detect(&sample).dialect;
                let separator = text_of(source, "separator", ",").as_bytes()[0];
                let expected = (
                    Separator::Byte(separator),
                    text_of(source, "encoding", "utf-8").to_owned(),
                    text_of(source, "decimal_mark", ".").as_bytes()[0],
                    source.get("skip_lines").map_or(0, |lines| lines.as_integer().unwrap()),
                    (1, false),
                );
                let found = (
                    dialect.separator,
                    dialect.encoding.name().to_owned(),
                    dialect.decimal_mark,
                    i64::try_from(dialect.skip_lines).unwrap(),
                    (dialect.header_rows, dialect.units_row),
                );
                assert_eq!(found, expected, "{}", path.display());
                seen += 1;
            }
        }
    }
    assert!(seen > 80, "{seen}");
}
