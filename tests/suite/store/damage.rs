//! `verify` and reading on a store that a disk or a hand has changed.

use std::fs;
use std::path::Path;

use motetrail::records::Table;
use motetrail::store::StoreError;

use super::{Bench, reseal};

/// A store with a part, a quarantine and a list of dropped records, one of each.
fn bench() -> Bench {
    let bench = Bench::with(&[(
        "a.csv",
        "1,2026-01-02 08:00,P1,,pass,\n1,2026-01-02 08:00,P1,,pass,\nx,bad,P2,,pass,\n",
    )]);
    drop(bench.take());
    bench
}

fn flip(path: &Path, at: usize) {
    let mut bytes = fs::read(path).unwrap();
    bytes[at] ^= 0x10;
    fs::write(path, bytes).unwrap();
}

#[test]
fn verify_finds_nothing_in_a_whole_store() {
    assert_eq!(bench().open().verify().unwrap(), []);
}

#[test]
fn verify_finds_a_flipped_byte_anywhere_in_any_file() {
    for folder in ["parts", "quarantine", "dropped"] {
        let bench = bench();
        let path = bench.only(folder);
        let length = fs::metadata(&path).unwrap().len() as usize;
        for at in [0, length / 3, length / 2, length - 1] {
            flip(&path, at);
            let damages = bench.open().verify().unwrap();
            assert_eq!(damages.len(), 1, "{folder} {at}");
            assert_eq!(damages[0].path, path);
            assert!(damages[0].what.contains("BLAKE3"), "{}", damages[0].what);
            flip(&path, at);
        }
        assert_eq!(bench.open().verify().unwrap(), []);
    }
}

#[test]
fn verify_finds_a_missing_part_and_one_too_many() {
    let bench = bench();
    let store = bench.open();
    let part = bench.only("parts");
    let other = part.with_file_name("inspections-other.parquet");
    fs::rename(&part, &other).unwrap();
    let damages = store.verify().unwrap();
    let paths: Vec<_> = damages.iter().map(|damage| damage.path.clone()).collect();
    let mut expected = vec![part, other];
    expected.sort();
    assert_eq!(paths, expected);
}

#[test]
fn verify_finds_a_row_account_that_its_parts_deny() {
    let bench = bench();
    let path = bench.store().join("manifest.json");
    reseal(&path, |text| {
        let moved = text.replacen("\"loaded\": 1", "\"loaded\": 2", 1);
        let moved = moved.replacen("\"duplicate\": 1", "\"duplicate\": 0", 1);
        assert_ne!(text, moved);
        moved
    });
    let damages = bench.open().verify().unwrap();
    assert_eq!(damages.len(), 1);
    assert_eq!(damages[0].path, path);
    assert!(damages[0].what.contains("row account"), "{}", damages[0].what);
}

#[test]
fn a_manifest_that_does_not_add_up_does_not_open() {
    let bench = bench();
    let path = bench.store().join("manifest.json");
    reseal(&path, |text| text.replacen("\"loaded\": 1", "\"loaded\": 2", 1));
    let error = bench.refusal();
    assert!(matches!(error, StoreError::Damaged { .. }), "{error}");
    assert!(error.to_string().contains("does not add up"), "{error}");
}

#[test]
fn absurd_counts_in_a_manifest_reserve_no_memory() {
    let bench = bench();
    let path = bench.store().join("manifest.json");
    reseal(&path, |text| {
        let absurd = text.replacen("\"records\": 2", "\"records\": 18446744073709551615", 1);
        assert_ne!(text, absurd);
        absurd
    });
    assert!(bench.refusal().to_string().contains("no part can have"));
}

#[test]
fn a_manifest_cut_anywhere_is_damaged_and_nothing_is_swept() {
    let bench = bench();
    let path = bench.store().join("manifest.json");
    let text = fs::read(&path).unwrap();
    for length in (0..text.len() - 2).step_by(97) {
        fs::write(&path, &text[..length]).unwrap();
        assert!(matches!(bench.refusal(), StoreError::Damaged { .. }), "{length}");
    }
    fs::write(&path, &text).unwrap();
    assert_eq!(bench.open().verify().unwrap(), []);
}

#[test]
fn a_manifest_of_another_version_is_told_apart_from_a_damaged_one() {
    let bench = bench();
    let path = bench.store().join("manifest.json");
    reseal(&path, |text| text.replacen("\"version\": 3", "\"version\": 4, \"more\": []", 1));
    let error = bench.refusal();
    assert!(matches!(error, StoreError::Version { found: 4, expected: 3, .. }), "{error}");
}

#[test]
fn reading_a_damaged_part_is_an_error_and_never_a_panic() {
    let bench = bench();
    let path = bench.only("parts");
    let whole = fs::read(&path).unwrap();
    let store = bench.open();
    let part = store.parts(Table::Inspections).remove(0);
    let read = || store.read(&part, &[]).and_then(|batches| batches.collect::<Result<Vec<_>, _>>());
    let mut refused = 0;
    for at in (0..whole.len()).step_by(5) {
        let mut bytes = whole.clone();
        bytes[at] ^= 0xff;
        fs::write(&path, &bytes).unwrap();
        // A changed value may still be a value; whatever is refused must be named.
        if let Err(error) = read() {
            refused += 1;
            assert!(
                matches!(&error, StoreError::Damaged { path: named, .. } if *named == path),
                "{error}"
            );
        }
    }
    assert!(refused > 10, "{refused}");
    fs::write(&path, &whole[..whole.len() / 2]).unwrap();
    assert!(read().is_err());
    fs::write(&path, &whole).unwrap();
    assert_eq!(read().unwrap()[0].num_rows(), 1);
}
