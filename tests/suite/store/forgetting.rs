//! A person is cut out of the store and does not come back.

use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicI64, Ordering};

use arrow::array::AsArray;
use arrow::datatypes::Int32Type;
use motetrail::intake::PeopleKey;
use motetrail::records::Table;
use motetrail::store::{Progress, Store};

use super::{Bench, account, copy};

const HEAD: &str = "No,At,Port,Fibre,Result,Cleaned,Who\n";
const IDA: &str = "Ida Mole";
const JO: &str = "Jo Vole";

/// Ten looks of two people by turns, one row without a time, and one whose result is a name.
fn rows(ports: std::ops::Range<usize>) -> String {
    let row = |at: usize| {
        let name = [IDA, JO][at % 2];
        format!("{at},2026-01-{:02} 08:00,P{at},,pass,dry,{name}\n", 1 + at % 28)
    };
    ports.map(row).collect::<String>()
        + &format!("x,bad,P1,,pass,,{IDA}\ny,2026-01-02 08:00,P1,,{IDA},,\n")
}

/// A bench whose looks and cleanings name people and have no record ids: they are known by content.
fn bench() -> Bench {
    let mut bench = Bench::new();
    for (record, column) in bench.plan.sources[0].records.iter_mut().zip(["inspector", "operator"])
    {
        record.columns.remove("record");
        record.columns.insert(column.into(), vec!["Who".into()]);
    }
    fs::write(bench.export("a.csv"), HEAD.to_owned() + &rows(0..10)).unwrap();
    bench
}

fn key(bench: &Bench) -> PeopleKey {
    PeopleKey::new(fs::read(bench.store().join("people.key")).unwrap().try_into().unwrap())
}

/// The people of a table's standing records, sorted; "" for none.
fn people(store: &Store, table: Table, column: &str) -> Vec<String> {
    let mut found = Vec::new();
    for part in store.parts(table) {
        for batch in store.read(&part, &[column]).unwrap() {
            let batch = batch.unwrap();
            let cells = batch.column(0).as_dictionary::<Int32Type>();
            let words = cells.values().as_string::<i32>();
            found.extend((0..cells.len()).map(|row| {
                cells.key(row).map_or_else(String::new, |key| words.value(key).to_owned())
            }));
        }
    }
    found.sort();
    found
}

fn names() -> Vec<String> {
    vec![IDA.to_owned()]
}

#[test]
fn a_forgotten_person_is_in_no_record_and_the_records_stay() {
    let bench = bench();
    let (mut store, _) = bench.take();
    let (ida, jo) = (key(&bench).pseudonym_of(IDA), key(&bench).pseudonym_of(JO));
    assert!(people(&store, Table::Inspections, "inspector").contains(&ida));
    let done = store.forget(&bench.plan, &names(), &()).unwrap();
    assert_eq!(done.cells.into_iter().collect::<Vec<_>>(), [("cleanings", 5), ("inspections", 5)]);
    for (table, column) in [(Table::Inspections, "inspector"), (Table::Cleanings, "operator")] {
        let left = people(&store, table, column);
        assert_eq!(left, [vec![String::new(); 5], vec![jo.clone(); 5]].concat());
    }
    assert_eq!(account(&store, "a.csv"), [12, 10, 0, 0, 2]);
    assert!(store.verify().unwrap().is_empty());
    for (file, bytes) in bench.bytes() {
        for word in [IDA, &ida] {
            let found = bytes.windows(word.len()).any(|at| at == word.as_bytes());
            assert!(!found, "{word} in {file}");
        }
    }
    let quarantine = format!("{:?}", store.quarantine(10).unwrap());
    assert!(!quarantine.contains("Ida") && quarantine.contains("***"), "{quarantine}");
}

#[test]
fn a_later_export_with_the_name_adds_nothing_and_does_not_bring_it_back() {
    let bench = bench();
    let (mut store, _) = bench.take();
    let ida = key(&bench).pseudonym_of(IDA);
    store.forget(&bench.plan, &names(), &()).unwrap();
    drop(store);
    fs::write(bench.export("b.csv"), HEAD.to_owned() + &rows(0..14)).unwrap();
    let (store, _) = bench.take();
    // The ten rows of the first export are in the second again, word for word.
    assert_eq!(account(&store, "a.csv"), [12, 0, 0, 10, 2]);
    assert_eq!(account(&store, "b.csv"), [16, 14, 0, 0, 2]);
    let left = people(&store, Table::Inspections, "inspector");
    assert_eq!(left.len(), 14);
    assert!(!left.contains(&ida) && left[0].is_empty());
    assert!(store.verify().unwrap().is_empty());
}

#[test]
fn two_who_differ_in_a_forgotten_name_alone_become_one_record() {
    let bench = bench();
    let look = |name: &str| format!("1,2026-01-01 08:00,P1,,pass,,{name}\n");
    fs::write(bench.export("a.csv"), HEAD.to_owned() + &look(IDA) + &look("")).unwrap();
    let (mut store, _) = bench.take();
    assert_eq!(account(&store, "a.csv"), [2, 2, 0, 0, 0]);
    store.forget(&bench.plan, &names(), &()).unwrap();
    assert_eq!(account(&store, "a.csv"), [2, 1, 0, 1, 0]);
    assert!(store.verify().unwrap().is_empty());
}

#[test]
fn the_list_of_the_forgotten_survives_a_lost_manifest_and_a_flip_in_it_is_found() {
    let bench = bench();
    let (mut store, _) = bench.take();
    store.forget(&bench.plan, &names(), &()).unwrap();
    drop(store);
    fs::remove_file(bench.store().join("manifest.json")).unwrap();
    let (store, _) = Store::rebuild(&bench.plan).unwrap();
    assert_eq!(account(&store, "a.csv"), [12, 10, 0, 0, 2]);
    assert!(store.verify().unwrap().is_empty());
    drop(store);
    let list = bench.store().join("forgotten.json");
    let whole = fs::read(&list).unwrap();
    for at in (0..whole.len()).step_by(7) {
        let mut flipped = whole.clone();
        flipped[at] ^= 1;
        fs::write(&list, flipped).unwrap();
        assert!(Store::inspect(&bench.plan).is_err(), "byte {at}");
    }
}

/// Ends the run before one of its durable steps.
struct StopBefore(AtomicI64);

impl Progress for StopBefore {
    fn expect(&self, _: u64) {}
    fn passed(&self, _: u64) {}
    fn step(&self, _: &str) {
        assert!(self.0.fetch_sub(1, Ordering::Relaxed) > 0, "stopped here");
    }
}

#[test]
fn stopped_before_any_step_it_leaves_a_whole_store_and_ends_the_same_when_called_again() {
    let before = bench();
    drop(before.take());
    let after = bench();
    copy(&before.store(), &after.store());
    after.open().forget(&after.plan, &names(), &()).unwrap();
    let state = bench();
    let mut stops = 0;
    for step in 0..50 {
        let _ = fs::remove_dir_all(state.store());
        copy(&before.store(), &state.store());
        let mut store = state.open();
        let progress = StopBefore(AtomicI64::new(step));
        let run = catch_unwind(AssertUnwindSafe(|| store.forget(&state.plan, &names(), &progress)));
        drop(store);
        let mut store = state.open();
        assert!(store.verify().unwrap().is_empty(), "step {step}");
        store.forget(&state.plan, &names(), &()).unwrap();
        assert!(store.verify().unwrap().is_empty(), "step {step}");
        assert!(state.bytes() == after.bytes(), "step {step} ended elsewhere");
        drop(store);
        if run.is_ok() {
            break;
        }
        stops += 1;
    }
    assert!((3..50).contains(&stops), "{stops} stops");
}
