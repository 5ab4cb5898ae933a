//! Parts written anew: what is taken out is gone, everything else is as it was.

use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicI64, Ordering};

use arrow::array::RecordBatch;
use motetrail::records::Table;
use motetrail::store::{Progress, Quarantined, Rewrite, Store, StoreError, Whence};

use super::{Bench, account, copy, standing};

const EXPORTS: [(&str, &str); 2] = [
    (
        "a.csv",
        "1,2026-01-02 08:00,P1,,pass,dry\n1,2026-01-02 08:00,P1,,pass,dry\nx,bad,Ida,,pass,\n",
    ),
    ("b.csv", "2,2026-02-02 08:00,P1,,fail,\n"),
];

/// Takes one word out of the quarantine.
struct Forget;

impl Rewrite for Forget {
    fn records(&mut self, _: &Whence, _: &RecordBatch) -> Option<RecordBatch> {
        None
    }

    fn quarantined(&mut self, export: &Whence, row: &mut Quarantined) -> bool {
        assert_eq!((export.source.as_str(), export.table), ("bench", None));
        let named = row.raw.contains("Ida");
        row.raw = row.raw.replace("Ida", "***");
        named
    }
}

fn whole_text(bench: &Bench) -> String {
    String::from_utf8_lossy(&fs::read(bench.store().join("manifest.json")).unwrap()).into_owned()
}

#[test]
fn what_is_forgotten_is_in_no_file_and_all_else_stays_also_when_rebuilt() {
    let bench = Bench::with(&EXPORTS);
    let (mut store, _) = bench.take();
    let looks = standing(&store, Table::Inspections);
    let accounts = [account(&store, "a.csv"), account(&store, "b.csv")];
    assert!(whole_text(&bench).contains("Ida"));
    assert_eq!(store.rewrite(&bench.plan, &(), &mut Forget).unwrap(), 1);
    assert_eq!(store.rewrite(&bench.plan, &(), &mut Forget).unwrap(), 0);
    let same = |store: &Store| {
        assert_eq!(standing(store, Table::Inspections), looks);
        assert_eq!([account(store, "a.csv"), account(store, "b.csv")], accounts);
        assert_eq!(store.verify().unwrap(), []);
        assert!(store.quarantine(9).unwrap().iter().all(|row| row.raw.contains("***")));
    };
    same(&store);
    drop(store);
    assert!(!whole_text(&bench).contains("Ida"));
    let bytes = bench.bytes();
    assert_eq!(bench.take().1.known, 2);
    fs::remove_file(bench.store().join("manifest.json")).unwrap();
    let (store, _) = Store::rebuild(&bench.plan).unwrap();
    same(&store);
    drop(store);
    assert_eq!(bench.bytes(), bytes);
}

/// Leaves a record out, which must not be.
struct LeaveOut;

impl Rewrite for LeaveOut {
    fn records(&mut self, export: &Whence, batch: &RecordBatch) -> Option<RecordBatch> {
        assert!(export.table.is_some());
        Some(batch.slice(0, batch.num_rows() - 1))
    }

    fn quarantined(&mut self, _: &Whence, _: &mut Quarantined) -> bool {
        false
    }
}

#[test]
fn a_record_that_is_lost_on_the_way_is_an_error_and_nothing_has_changed() {
    let bench = Bench::with(&EXPORTS);
    let (mut store, _) = bench.take();
    let before = bench.bytes();
    let error = store.rewrite(&bench.plan, &(), &mut LeaveOut).unwrap_err();
    assert!(matches!(error, StoreError::Unbalanced { .. }), "{error}");
    assert_eq!(bench.bytes(), before);
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
fn stopped_before_any_step_the_store_is_the_old_one_or_the_new_one() {
    let before = Bench::with(&EXPORTS);
    drop(before.take());
    let after = Bench::with(&EXPORTS);
    after.take().0.rewrite(&after.plan, &(), &mut Forget).unwrap();
    let mut stops = 0;
    for step in 0..100 {
        let state = Bench::with(&EXPORTS);
        copy(&before.store(), &state.store());
        let mut store = state.open();
        let stop = StopBefore(AtomicI64::new(step));
        let run = catch_unwind(AssertUnwindSafe(|| {
            store.rewrite(&state.plan, &stop, &mut Forget).unwrap()
        }));
        drop(store);
        drop(state.open());
        let opened = state.bytes();
        assert!(opened == before.bytes() || opened == after.bytes(), "step {step}");
        if run.is_ok() {
            assert!(opened == after.bytes());
            break;
        }
        stops += 1;
    }
    assert!((8..100).contains(&stops), "{stops}");
}
