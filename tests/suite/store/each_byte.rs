//! Damage is found before it is used: every byte of every file of a store, one after another.

use std::collections::BTreeMap;
use std::fs::{self, File, OpenOptions};
use std::os::unix::fs::FileExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use arrow::array::RecordBatch;
use motetrail::records::Table;
use motetrail::store::{Store, StoreError};

use super::live_fleet::LiveFleet;
use super::{Bench, collect, list};

/// One export with a part of two tables, a list of what does not stand, and a quarantine.
const ROWS: &str =
    "1,2026-01-02 08:00,P1,,pass,dry\n1,2026-01-02 08:00,P1,,pass,dry\nx,bad,P2,,pass,\n";

/// A small store whose files are in memory where that can be.
fn small() -> Bench {
    let mut bench = Bench::with(&[("a.csv", ROWS)]);
    if let Ok(folder) = tempfile::tempdir_in("/dev/shm") {
        let exports = bench.folder.path().join("exports");
        super::copy(&exports, &folder.path().join("exports"));
        bench.plan.fleet.folder = folder.path().to_path_buf();
        bench.plan.fleet.store = folder.path().join("store");
        bench.folder = folder;
    }
    drop(bench.take());
    bench
}

/// Turns one bit of a byte, or turns it back.
fn flip(file: &File, at: u64) {
    let mut byte = [0];
    file.read_exact_at(&mut byte, at).unwrap();
    file.write_all_at(&[byte[0] ^ 1 << (at % 8)], at).unwrap();
}

fn open_to_write(path: &Path) -> (File, u64) {
    let file = OpenOptions::new().read(true).write(true).open(path).unwrap();
    let length = file.metadata().unwrap().len();
    (file, length)
}

/// What verify makes of the store: nothing, or what it found.
fn found(bench: &Bench) -> Option<String> {
    match Store::inspect(&bench.plan) {
        Ok(store) => store.verify().unwrap().first().map(|damage| damage.what.clone()),
        Err(error) => Some(error.to_string()),
    }
}

/// Threads that share the bytes of a store, each with a copy of its own.
const SHARES: u64 = 2;

#[test]
fn verify_finds_each_flipped_byte_of_each_file_of_a_store() {
    std::thread::scope(|scope| {
        for share in 0..SHARES {
            scope.spawn(move || finds_each_byte_of(share));
        }
    });
}

/// Tries every second byte, the first or the second of two.
fn finds_each_byte_of(share: u64) {
    let bench = small();
    assert_eq!(found(&bench), None);
    let mut files = BTreeMap::new();
    collect(&bench.store(), &bench.store(), &mut files);
    let mut lengths: Vec<(&str, usize)> = Vec::new();
    for (name, bytes) in &files {
        let (file, length) = open_to_write(&bench.store().join(name));
        for at in (share..length).step_by(SHARES as usize) {
            flip(&file, at);
            assert!(found(&bench).is_some(), "byte {at} of {name}");
            flip(&file, at);
        }
        lengths.push((name, bytes.len()));
    }
    assert_eq!(found(&bench), None);
    let empty: Vec<&str> =
        lengths.iter().filter(|(_, bytes)| *bytes == 0).map(|(name, _)| *name).collect();
    assert_eq!(empty, ["lock"], "every other file has bytes to flip");
    let folders =
        ["parts/", "quarantine/", "dropped/", "people.key", "store.json", "manifest.json"];
    for folder in folders {
        assert!(lengths.iter().any(|(name, _)| name.starts_with(folder)), "no {folder}");
    }
}

/// Everything that stands of a table, or what went wrong with it.
fn read_all(store: &Store, table: Table) -> Result<Vec<RecordBatch>, StoreError> {
    let mut all = Vec::new();
    for part in store.parts(table) {
        all.extend(store.read(&part, &[])?.collect::<Result<Vec<_>, _>>()?);
    }
    Ok(all)
}

#[test]
fn reading_gives_the_same_records_or_names_the_file_and_the_export_whichever_byte_is_flipped() {
    let bench = small();
    let store = bench.open();
    let paths: Vec<PathBuf> =
        ["parts", "dropped"].iter().flat_map(|folder| list(&bench.store().join(folder))).collect();
    for path in paths {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let table = Table::named(name.split('-').next().unwrap()).unwrap();
        let whole = read_all(&store, table).unwrap();
        assert!(!whole.is_empty());
        let (file, length) = open_to_write(&path);
        let mut refused = 0;
        for at in 0..length {
            flip(&file, at);
            match read_all(&store, table) {
                Ok(read) => assert_eq!(read, whole, "byte {at} of {}", path.display()),
                Err(error) => {
                    refused += 1;
                    let told = error.to_string();
                    let named = matches!(&error, StoreError::Damaged { path: p, .. } if *p == path);
                    assert!(named && told.contains("exports/a.csv of source bench"), "{told}");
                }
            }
            flip(&file, at);
        }
        // Only the format's name at the start of a part is never looked at.
        assert!(refused + 4 >= length, "{refused} of {length} in {}", path.display());
    }
}

#[test]
fn a_part_of_which_some_columns_are_damaged_still_gives_the_others() {
    let bench = small();
    let store = bench.open();
    let part = store.parts(Table::Inspections).remove(0);
    let path = list(&bench.store().join("parts"))
        .into_iter()
        .find(|path| path.to_string_lossy().contains("inspections"))
        .unwrap();
    let (file, length) = open_to_write(&path);
    let reads = |column: &str| {
        store.read(&part, &[column]).and_then(|all| all.collect::<Result<Vec<_>, _>>()).is_ok()
    };
    let mut outcomes = BTreeMap::new();
    for at in 0..length {
        flip(&file, at);
        *outcomes.entry((reads("at"), reads("outcome"))).or_insert(0) += 1;
        flip(&file, at);
    }
    // Damage in one of the two, in the footer, and in any other column.
    for both in [(false, true), (true, false), (false, false), (true, true)] {
        assert!(outcomes.get(&both).is_some_and(|count| *count > 10), "{both:?}: {outcomes:?}");
    }
}

/// Code and, where it is 0, every table of the report.
fn review(fleet: &LiveFleet, out: &str) -> (i32, BTreeMap<String, Vec<u8>>) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_motetrail"));
    command.args(["review", "--quiet", "fleet.toml", "--period", "2026-Q1", "--out", out]);
    let done = command.current_dir(fleet.path()).stderr(Stdio::piped()).output().unwrap();
    let mut report = BTreeMap::new();
    let out = fleet.path().join(out);
    if out.exists() {
        collect(&out, &out, &mut report);
    }
    (done.status.code().unwrap(), report)
}

#[test]
fn a_review_of_a_damaged_store_is_refused_with_4_or_is_the_same_review() {
    let fleet = LiveFleet::grown();
    let (code, whole) = review(&fleet, "whole");
    assert_eq!(code, 0);
    assert!(whole.len() > 10, "{:?}", whole.keys());
    let mut paths = list(&fleet.store().join("dropped"));
    paths.extend(list(&fleet.store().join("parts")));
    let mut refused = 0;
    for (number, path) in paths.iter().enumerate() {
        let (file, length) = open_to_write(path);
        let at = length * (number as u64 * 7 % 10 + 1) / 12;
        flip(&file, at);
        let out = format!("out-{number}");
        let (code, report) = review(&fleet, &out);
        match code {
            4 => {
                refused += 1;
                assert!(report.is_empty(), "published before all was checked");
            }
            code => {
                assert_eq!(code, 0, "byte {at} of {}", path.display());
                assert!(report == whole, "byte {at} of {} changed the review", path.display());
            }
        }
        flip(&file, at);
        let _ = fs::remove_dir_all(fleet.path().join(out));
    }
    assert!(refused * 2 > paths.len(), "{refused} of {}", paths.len());
}
