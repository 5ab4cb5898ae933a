//! Lost, older and damaged manifests: nothing is swept, and a rebuilt manifest is the one that was.

use std::collections::BTreeMap;
use std::fs;
use std::path::PathBuf;
use std::process::{Command, Output, Stdio};

use motetrail::records::Table;
use motetrail::store::{Store, StoreError};

use super::live_fleet::LiveFleet;
use super::{Bench, account, collect, copy, day, list, standing};

const FIRST: (&str, &str) =
    ("a.csv", "1,2026-01-02 08:00,P1,,pass,dry\n2,2026-01-02 08:00,P2,,fail,\n");
const SECOND: (&str, &str) = ("b.csv", "1,2026-02-02 08:00,P1,,fail,dry\nx,bad,P2,,fail,\n");

fn every_file(bench: &Bench) -> BTreeMap<String, Vec<u8>> {
    let mut all = BTreeMap::new();
    collect(&bench.store(), &bench.store(), &mut all);
    all.remove("lock");
    all
}

#[test]
fn parts_without_a_manifest_are_refused_and_none_is_touched() {
    for gone in [&["manifest.json"][..], &["manifest.json", "store.json"]] {
        let bench = Bench::with(&[FIRST, SECOND]);
        drop(bench.take());
        gone.iter().for_each(|name| fs::remove_file(bench.store().join(name)).unwrap());
        let before = every_file(&bench);
        let looked = Store::inspect(&bench.plan).err().unwrap();
        for error in [bench.refusal(), looked] {
            assert!(matches!(error, StoreError::NoManifest { .. }), "{error}");
            let told = error.to_string();
            for said in ["parts/", "no manifest", "verify --rebuild", "an empty folder"] {
                assert!(told.contains(said), "{told}");
            }
        }
        assert_eq!(every_file(&bench), before);
    }
}

#[test]
fn a_marked_store_without_manifest_and_parts_is_no_new_store() {
    let bench = Bench::new();
    drop(bench.open());
    fs::remove_file(bench.store().join("manifest.json")).unwrap();
    assert!(matches!(bench.refusal(), StoreError::NoManifest { .. }));
}

#[test]
fn a_rebuilt_manifest_is_the_one_that_was_lost() {
    let bench = Bench::with(&[FIRST, SECOND, ("empty.csv", "")]);
    drop(bench.take());
    bench.write("c.csv", "7,2026-03-02 08:00,P7,,pass,\n");
    let mut store = bench.open();
    store.take(&bench.plan, day().succ_opt().unwrap(), &()).unwrap();
    drop(store);
    let whole = bench.bytes();
    fs::remove_file(bench.store().join("manifest.json")).unwrap();
    let (store, rebuilt) = Store::rebuild(&bench.plan).unwrap();
    assert_eq!((rebuilt.exports, rebuilt.set_aside), (4, Vec::new()));
    assert_eq!(store.last_intake_day(), day().succ_opt());
    assert_eq!(store.verify().unwrap(), []);
    drop(store);
    assert_eq!(bench.bytes(), whole);
    assert_eq!(bench.take().1.known, 4);
}

#[test]
fn cells_left_out_are_told_again_by_a_rebuilt_manifest_without_the_names_of_the_forgotten() {
    let mut bench = Bench::new();
    let columns = &mut bench.plan.sources[0].records[0].columns;
    columns.remove("fibre");
    columns.insert("capped".into(), vec!["Fibre".into()]);
    bench.write("a.csv", "1,2026-03-02 08:00,P1,Ida Mole,pass,\n2,2026-03-02 08:00,P2,,pass,\n");
    let (mut store, _) = bench.take();
    let examples = |store: &Store| {
        let [account] = store.accounts() else { panic!("one export") };
        let [lost] = &account.lost[..] else { panic!("{:?}", account.lost) };
        assert_eq!((lost.column.as_str(), lost.cells, account.rows.loaded), ("Fibre", 1, 2));
        lost.examples.iter().map(|cell| (cell.line, cell.reason.clone())).collect::<Vec<_>>()
    };
    let reason =
        |found| (2, format!("found {found}, expected one of yes, no; add it to the map's values"));
    assert_eq!(examples(&store), [reason("\"Ida Mole\"")]);
    store.forget(&bench.plan, &["Ida Mole".to_owned()], &()).unwrap();
    assert_eq!(examples(&store), [reason("\"***\"")]);
    drop(store);
    fs::remove_file(bench.store().join("manifest.json")).unwrap();
    let (store, _) = Store::rebuild(&bench.plan).unwrap();
    assert_eq!(examples(&store), [reason("\"***\"")]);
}

#[test]
fn versions_of_a_name_come_back_as_they_were() {
    let row = |outcome: &str| format!("1,2026-01-02 08:00,P1,,{outcome},\n");
    let bench = Bench::with(&[("a.csv", &row("pass"))]);
    drop(bench.take());
    bench.write("a.csv", &row("fail"));
    drop(bench.take());
    bench.write("a.csv", &row("pass"));
    drop(bench.take());
    let whole = bench.bytes();
    fs::remove_file(bench.store().join("manifest.json")).unwrap();
    let (store, _) = Store::rebuild(&bench.plan).unwrap();
    assert_eq!(standing(&store, Table::Inspections), ["1/P1//pass"]);
    drop(store);
    assert_eq!(bench.bytes(), whole);
}

#[test]
fn a_manifest_older_than_the_parts_is_refused_with_their_names_and_rebuilt_with_them() {
    let bench = Bench::with(&[FIRST]);
    drop(bench.take());
    let old = fs::read(bench.store().join("manifest.json")).unwrap();
    bench.write(SECOND.0, SECOND.1);
    drop(bench.take());
    let whole = bench.bytes();
    fs::write(bench.store().join("manifest.json"), old).unwrap();
    let before = every_file(&bench);
    let error = bench.refusal();
    assert!(matches!(error, StoreError::OldManifest { .. }), "{error}");
    assert!(error.to_string().contains("parts/"), "{error}");
    assert_eq!(every_file(&bench), before);
    let looked = Store::inspect(&bench.plan).unwrap().verify().unwrap();
    assert!(looked.iter().any(|damage| damage.what.contains("which is older")), "{looked:?}");
    assert_eq!(every_file(&bench), before);
    let (store, rebuilt) = Store::rebuild(&bench.plan).unwrap();
    assert_eq!((rebuilt.exports, rebuilt.set_aside.len()), (2, 0), "{rebuilt:?}");
    assert_eq!(store.verify().unwrap(), []);
    drop(store);
    assert_eq!(bench.bytes(), whole);
}

#[test]
fn a_restored_manifest_beside_the_record_of_another_run_costs_no_file() {
    let bench = Bench::with(&[FIRST]);
    let fresh = bench.open();
    drop(fresh);
    let oldest = fs::read(bench.store().join("manifest.json")).unwrap();
    drop(bench.take());
    bench.write(SECOND.0, SECOND.1);
    // A run that ended, and whose record is still there as if it had been killed at once.
    let before = fs::read(bench.store().join("manifest.json")).unwrap();
    let mut names: Vec<String> = Vec::new();
    drop(bench.take());
    for folder in ["parts", "quarantine", "dropped"] {
        for path in list(&bench.store().join(folder)) {
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            names.push(format!("\"{folder}/{name}\""));
        }
    }
    let check = |manifest: &[u8]| {
        let text = String::from_utf8(manifest.to_vec()).unwrap();
        text.split('"').nth(3).unwrap().to_string()
    };
    let after = fs::read(bench.store().join("manifest.json")).unwrap();
    let record = format!(
        "{{\n  \"run\": \"0123456789abcdef\",\n  \"before\": \"{}\",\n  \"after\": \"{}\",\n  \
         \"new\": [{}],\n  \"replaced\": []\n}}\n",
        check(&before),
        check(&after),
        names.join(", ")
    );
    fs::write(bench.store().join("run.json"), super::sealed(&record)).unwrap();
    // The manifest of a third moment: neither the one it began from nor the one it ended with.
    fs::write(bench.store().join("manifest.json"), oldest).unwrap();
    let files = |bench: &Bench| {
        let mut all = every_file(bench);
        all.remove("run.json");
        all
    };
    let there = files(&bench);
    assert!(matches!(bench.refusal(), StoreError::OldManifest { .. }));
    assert_eq!(files(&bench), there);
}

#[test]
fn a_damaged_part_is_set_aside_with_its_export_and_the_rest_goes_on() {
    let bench = Bench::with(&[FIRST, SECOND]);
    drop(bench.take());
    let whole = bench.bytes();
    let part = list(&bench.store().join("parts")).remove(0);
    let mut bytes = fs::read(&part).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    fs::write(&part, &bytes).unwrap();
    let (store, rebuilt) = Store::rebuild(&bench.plan).unwrap();
    assert_eq!(rebuilt.exports, 1, "{rebuilt:?}");
    let aside = rebuilt.set_aside.iter().find(|file| file.why.contains("BLAKE3")).unwrap();
    assert_eq!(fs::read(&aside.path).unwrap(), bytes);
    assert!(aside.why.contains("of source bench again"), "{}", aside.why);
    assert_eq!(store.verify().unwrap(), []);
    drop(store);
    let (store, taken) = bench.take();
    assert_eq!((taken.read, taken.known), (1, 1));
    drop(store);
    let mut ended = bench.bytes();
    ended.retain(|name, _| !name.starts_with("set-aside/"));
    assert_eq!(ended, whole);
}

#[test]
fn a_damaged_manifest_and_marker_are_set_aside_and_made_again() {
    let bench = Bench::with(&[FIRST, SECOND]);
    drop(bench.take());
    let whole = bench.bytes();
    for name in ["manifest.json", "store.json"] {
        let path = bench.store().join(name);
        let text = fs::read_to_string(&path).unwrap();
        fs::write(&path, text.replacen("motetrail", "notetrail", 1).replace("UTC", "GMT")).unwrap();
    }
    assert!(matches!(bench.refusal(), StoreError::Damaged { .. }));
    let (store, rebuilt) = Store::rebuild(&bench.plan).unwrap();
    let was: Vec<&str> = rebuilt.set_aside.iter().map(|file| file.was.as_str()).collect();
    assert_eq!(was, ["manifest.json", "store.json"]);
    assert_eq!(store.verify().unwrap(), []);
    drop(store);
    let mut ended = bench.bytes();
    ended.retain(|name, _| !name.starts_with("set-aside/"));
    assert_eq!(ended, whole);
}

#[test]
fn an_export_that_is_not_whole_is_not_made_up() {
    let bench = Bench::with(&[FIRST, SECOND]);
    drop(bench.take());
    fs::remove_file(bench.store().join("manifest.json")).unwrap();
    let lost = list(&bench.store().join("parts"))
        .into_iter()
        .find(|path| path.to_string_lossy().contains("cleanings"))
        .unwrap();
    fs::remove_file(lost).unwrap();
    let (store, rebuilt) = Store::rebuild(&bench.plan).unwrap();
    assert_eq!(rebuilt.exports, 1);
    let whys: Vec<&str> = rebuilt.set_aside.iter().map(|file| file.why.as_str()).collect();
    assert!(whys.iter().any(|why| why.contains("cleanings are missing")), "{whys:?}");
    assert_eq!(store.verify().unwrap(), []);
    drop(store);
    let (store, _) = bench.take();
    assert_eq!(account(&store, "a.csv"), [2, 1, 1, 0, 0]);
}

#[test]
fn another_folder_is_never_rebuilt() {
    let mut bench = Bench::with(&[FIRST]);
    bench.plan.fleet.store = bench.folder.path().join("exports");
    fs::write(bench.export("manifest.json"), "{\"name\": \"a page\"}").unwrap();
    let before = every_file(&bench);
    for error in [Store::rebuild(&bench.plan).map(drop), Store::inspect(&bench.plan).map(drop)] {
        assert!(error.is_err());
    }
    drop(bench.refusal());
    assert_eq!(every_file(&bench), before);
    assert!(!bench.export("lock").exists());
}

fn run(fleet: &LiveFleet, words: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_motetrail"));
    command.args(words).current_dir(fleet.path()).stderr(Stdio::piped()).output().unwrap()
}

fn report(fleet: &LiveFleet, out: &str) -> BTreeMap<String, Vec<u8>> {
    let done =
        run(fleet, &["review", "--quiet", "fleet.toml", "--period", "2026-Q1", "--out", out]);
    assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
    let folder: PathBuf = fleet.path().join(out);
    let mut all = BTreeMap::new();
    collect(&folder, &folder, &mut all);
    all
}

#[test]
fn the_review_of_a_rebuilt_store_is_the_review_of_the_store_though_no_export_is_there() {
    let fleet = LiveFleet::grown();
    let whole = report(&fleet, "whole");
    let bytes = fleet.bytes();
    fs::rename(fleet.path().join("exports"), fleet.path().join("gone")).unwrap();
    fs::remove_file(fleet.store().join("manifest.json")).unwrap();
    let refused = run(&fleet, &["verify", "fleet.toml"]);
    assert_eq!(refused.status.code(), Some(4));
    assert_eq!(run(&fleet, &["verify", "--rebuild", "fleet.toml"]).status.code(), Some(0));
    assert!(fleet.bytes() == bytes);
    assert!(report(&fleet, "rebuilt") == whole, "the rebuilt store is reviewed otherwise");
}

#[test]
fn verify_writes_nothing_even_where_there_is_no_store() {
    let fleet = LiveFleet::new();
    let names = || {
        let mut all = BTreeMap::new();
        collect(fleet.path(), fleet.path(), &mut all);
        all
    };
    let before = names();
    let done = run(&fleet, &["verify", "fleet.toml"]);
    assert_eq!(done.status.code(), Some(3));
    assert!(String::from_utf8_lossy(&done.stderr).contains("there is no store yet"));
    assert!(names() == before && !fleet.store().exists());
    fleet.taken();
    let before = names();
    assert_eq!(run(&fleet, &["verify", "fleet.toml"]).status.code(), Some(0));
    assert!(names() == before, "verify changed the store");
    // A run that was killed is left for the next intake to put right.
    copy(&fleet.store(), &fleet.path().join("kept"));
    fs::write(fleet.store().join("run.json"), "{").unwrap();
    let before = names();
    assert_eq!(run(&fleet, &["verify", "fleet.toml"]).status.code(), Some(0));
    assert!(names() == before);
}
