//! A store of the form before this one, which had no marker and a manifest without a check value.

use std::fs;
use std::path::Path;

use motetrail::records::Table;
use motetrail::store::{Store, StoreError};
use serde_json::{Map, Value, json};

use super::{Bench, account, day, list, standing};

const ROWS: &str =
    "1,2026-01-02 08:00,P1,,pass,dry\n1,2026-01-02 08:00,P1,,pass,dry\nx,bad,P2,,pass,\n";

/// Takes the export in, and makes of the store what the earlier form would have been.
fn older() -> Bench {
    let bench = Bench::with(&[("a.csv", ROWS), ("b.csv", "1,2026-02-02 08:00,P1,,fail,\n")]);
    drop(bench.take());
    for folder in ["parts", "quarantine"] {
        for path in list(&bench.store().join(folder)) {
            let name = path.file_name().unwrap().to_str().unwrap().to_string();
            let (stem, _) = name.rsplit_once('-').unwrap();
            fs::rename(&path, path.with_file_name(format!("{stem}.parquet"))).unwrap();
        }
    }
    let path = bench.store().join("manifest.json");
    let mut manifest: Map<String, Value> =
        serde_json::from_slice(&fs::read(&path).unwrap()).unwrap();
    manifest.remove("check");
    manifest.insert("version".into(), json!(2));
    manifest.insert("first_intake".into(), json!(day().to_string()));
    for export in manifest["exports"].as_array_mut().unwrap() {
        export.as_object_mut().unwrap().remove("taken");
        for part in export["parts"].as_array_mut().unwrap() {
            part.as_object_mut().unwrap().remove("sums").unwrap();
        }
    }
    fs::write(&path, serde_json::to_vec_pretty(&manifest).unwrap()).unwrap();
    fs::remove_file(bench.store().join("store.json")).unwrap();
    bench
}

fn facts(store: &Store) -> (Vec<String>, Vec<String>, [u64; 5], [u64; 5]) {
    (
        standing(store, Table::Inspections),
        standing(store, Table::Cleanings),
        account(store, "a.csv"),
        account(store, "b.csv"),
    )
}

#[test]
fn an_older_store_is_read_marked_once_and_goes_on() {
    let same = Bench::with(&[("a.csv", ROWS), ("b.csv", "1,2026-02-02 08:00,P1,,fail,\n")]);
    let (expected, _) = same.take();
    let bench = older();
    let before = bench.bytes();
    let looked = Store::inspect(&bench.plan).unwrap();
    assert_eq!(facts(&looked), facts(&expected));
    assert_eq!(looked.verify().unwrap(), []);
    drop(looked);
    assert_eq!(bench.bytes(), before, "looking at it changed it");
    assert!(!bench.store().join("store.json").exists());

    let store = bench.open();
    assert_eq!(facts(&store), facts(&expected));
    assert_eq!(store.last_intake_day(), Some(day()));
    assert_eq!(store.verify().unwrap(), []);
    drop(store);
    let marker = fs::read(bench.store().join("store.json")).unwrap();
    let manifest = fs::read(bench.store().join("manifest.json")).unwrap();
    drop(bench.open());
    assert_eq!(fs::read(bench.store().join("store.json")).unwrap(), marker);
    assert_eq!(fs::read(bench.store().join("manifest.json")).unwrap(), manifest);

    bench.write("c.csv", "2,2026-03-02 08:00,P1,,pass,\n");
    let (store, taken) = bench.take();
    assert_eq!((taken.read, taken.known), (1, 2));
    assert_eq!(store.verify().unwrap(), []);
    assert_eq!(standing(&store, Table::Inspections), ["1/P1//fail", "2/P1//pass"]);
}

#[test]
fn an_older_store_with_a_damaged_part_is_not_adopted() {
    let bench = older();
    let part = list(&bench.store().join("parts")).remove(0);
    let mut bytes = fs::read(&part).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    fs::write(&part, bytes).unwrap();
    let before = bench.bytes();
    let error = bench.refusal();
    assert!(matches!(&error, StoreError::Damaged { path, .. } if *path == part), "{error}");
    assert_eq!(bench.bytes(), before);
    assert!(!bench.store().join("store.json").exists());
}

#[test]
fn an_older_store_whose_adoption_was_stopped_is_adopted_at_the_next_opening() {
    let whole = older();
    drop(whole.open());
    let new = fs::read(whole.store().join("manifest.json")).unwrap();
    let put = |bench: &Bench, name: &str, bytes: &[u8]| {
        fs::write(bench.store().join(name), bytes).unwrap();
    };
    let steps: [&dyn Fn(&Bench); 3] = [
        &|bench| put(bench, "manifest.json.new", &new[..new.len() / 2]),
        &|bench| put(bench, "manifest.json", &new),
        &|bench| {
            put(bench, "manifest.json", &new);
            put(bench, "store.json.new", b"{");
        },
    ];
    for step in steps {
        let bench = older();
        step(&bench);
        drop(bench.open());
        assert_eq!(bench.bytes(), whole.bytes());
        assert!(Path::new(&bench.store().join("store.json")).exists());
    }
}

#[test]
fn what_an_older_store_had_is_kept_when_its_manifest_is_rebuilt() {
    let bench = older();
    let (store, rebuilt) = Store::rebuild(&bench.plan).unwrap();
    assert_eq!((rebuilt.exports, rebuilt.set_aside.len()), (2, 0), "{rebuilt:?}");
    assert_eq!(standing(&store, Table::Inspections), ["1/P1//fail"]);
    assert_eq!(store.verify().unwrap(), []);
}
