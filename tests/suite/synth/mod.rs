//! The invented fleet: bytes, counts, truth, and settings that fit the exports.

mod bytes;
mod counts;
mod culprits;
mod draw;
mod exports;
mod luck;
mod recipe;
mod truth;
mod worth;

use std::collections::BTreeMap;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use calamine::{Data, Reader, Xlsx, open_workbook_from_rs};
use motetrail::synth::{Recipe, Truth, write};
use tempfile::TempDir;

/// The demo, written once for every test that only reads it.
fn demo() -> &'static (TempDir, Truth) {
    static DEMO: OnceLock<(TempDir, Truth)> = OnceLock::new();
    DEMO.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let truth = write(&Recipe::demo(), folder.path()).unwrap();
        (folder, truth)
    })
}

/// A fleet of some 3,000 inspections.
fn small() -> Recipe {
    Recipe { inspections: 3_000, ..Recipe::sound() }
}

/// Every file below a folder by its relative path.
fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut folders = vec![folder.to_path_buf()];
    while let Some(next) = folders.pop() {
        for entry in std::fs::read_dir(next).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let bytes = std::fs::read(&path).unwrap();
                found.insert(path.strip_prefix(folder).unwrap().to_path_buf(), bytes);
            }
        }
    }
    found
}

/// The text of an export: unpacked, and read as windows-1252 where it is no UTF-8.
fn text(path: &Path, bytes: &[u8]) -> String {
    let mut plain = Vec::new();
    if path.extension().is_some_and(|e| e == "xlsx") {
        return sheet(bytes);
    }
    if path.extension().is_some_and(|e| e == "gz") {
        flate2::read::GzDecoder::new(bytes).read_to_end(&mut plain).unwrap();
    } else {
        plain = bytes.to_vec();
    }
    String::from_utf8(plain)
        .unwrap_or_else(|e| e.as_bytes().iter().map(|&byte| char::from(byte)).collect())
}

/// The first sheet of a workbook as lines of text.
fn sheet(bytes: &[u8]) -> String {
    let mut book: Xlsx<_> = open_workbook_from_rs(std::io::Cursor::new(bytes)).unwrap();
    let sheet = book.worksheet_range_at(0).unwrap().unwrap();
    let line = |row: &[Data]| row.iter().map(ToString::to_string).collect::<Vec<_>>().join(",");
    sheet.rows().map(line).collect::<Vec<_>>().join("\n")
}
