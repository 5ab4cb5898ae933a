//! Promise 3: a run stopped at any point leaves the store as it was, and the next one ends with the
//! bytes of a run that was never stopped. Each state is pieced together as the step before would leave it.

use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicI64, Ordering};

use motetrail::store::Progress;

use super::{Bench, copy, day, list};

const FIRST: (&str, &str) =
    ("a.csv", "1,2026-01-02 08:00,P1,,pass,dry\n2,2026-01-02 08:00,P2,,fail,\n");
const SECOND: (&str, &str) = ("b.csv", "1,2026-02-02 08:00,P1,,fail,dry\nx,bad,P2,,fail,\n");

/// A store with the first export, one with both, and an empty place for the state between.
fn before_and_after() -> (Bench, Bench, Bench) {
    let before = Bench::with(&[FIRST]);
    drop(before.take());
    let after = Bench::with(&[FIRST]);
    drop(after.take());
    after.write(SECOND.0, SECOND.1);
    drop(after.take());
    (before, after, Bench::with(&[FIRST, SECOND]))
}

/// The state opens as `before`, and ends as `after`.
fn recovers(state: &Bench, before: &Bench, after: &Bench) {
    drop(state.open());
    assert_eq!(state.bytes(), before.bytes(), "a stopped run changed the store");
    let (store, _) = state.take();
    assert_eq!(state.bytes(), after.bytes(), "the next run ended elsewhere");
    assert!(store.verify().unwrap().is_empty());
}

#[test]
fn stopped_while_parts_are_written() {
    let (before, after, state) = before_and_after();
    copy(&before.store(), &state.store());
    fs::write(state.store().join("work/0-inspections.parquet"), b"PAR1half").unwrap();
    fs::write(state.store().join("work/people.key"), b"ha").unwrap();
    recovers(&state, &before, &after);
}

#[test]
fn stopped_after_parts_have_their_names() {
    let (before, after, state) = before_and_after();
    copy(&after.store(), &state.store());
    fs::copy(before.store().join("manifest.json"), state.store().join("manifest.json")).unwrap();
    recovers(&state, &before, &after);
}

#[test]
fn stopped_while_the_manifest_is_written() {
    let (before, after, state) = before_and_after();
    let manifest = fs::read(after.store().join("manifest.json")).unwrap();
    for length in [0, manifest.len() / 2, manifest.len()] {
        let _ = fs::remove_dir_all(state.store());
        copy(&after.store(), &state.store());
        fs::copy(before.store().join("manifest.json"), state.store().join("manifest.json"))
            .unwrap();
        fs::write(state.store().join("manifest.json.new"), &manifest[..length]).unwrap();
        recovers(&state, &before, &after);
    }
}

#[test]
fn stopped_after_the_manifest_was_renamed() {
    let mut old = Bench::with(&[FIRST, SECOND]);
    drop(old.take());
    let new = Bench::with(&[FIRST, SECOND]);
    copy(&old.store(), &new.store());
    old.plan.sources[0].site = Some("Quay 2".into());
    let mut new = new;
    new.plan.sources[0].site = Some("Quay 2".into());
    drop(new.take());
    // The old parts are still there beside the new truth.
    let state = Bench::with(&[FIRST, SECOND]);
    copy(&old.store(), &state.store());
    copy(&new.store(), &state.store());
    assert_ne!(state.bytes(), new.bytes());
    drop(state.open());
    assert_eq!(state.bytes(), new.bytes());
}

#[test]
fn stopped_before_the_first_manifest() {
    let state = Bench::with(&[FIRST]);
    drop(state.open());
    assert!(!state.store().join("manifest.json").exists());
    fs::write(state.store().join("parts/left.parquet"), b"PAR1").unwrap();
    drop(state.take());
    let never = Bench::with(&[FIRST]);
    drop(never.take());
    assert_eq!(state.bytes(), never.bytes());
}

/// Ends the run at a given call.
struct StopAt(AtomicI64);

impl Progress for StopAt {
    fn expect(&self, _: u64) {}
    fn passed(&self, _: u64) {
        assert!(self.0.fetch_sub(1, Ordering::Relaxed) > 0, "stopped here");
    }
}

#[test]
fn stopped_in_the_middle_of_reading() {
    let (before, after, state) = before_and_after();
    let mut stops = 0;
    for call in 0..50 {
        let _ = fs::remove_dir_all(state.store());
        copy(&before.store(), &state.store());
        let mut store = state.open();
        let progress = StopAt(AtomicI64::new(call));
        let run = catch_unwind(AssertUnwindSafe(|| store.take(&state.plan, day(), &progress)));
        drop(store);
        if run.is_ok() {
            break;
        }
        stops += 1;
        recovers(&state, &before, &after);
    }
    assert!((1..50).contains(&stops), "{stops} stops");
}

#[test]
fn nothing_is_left_in_the_work_folder() {
    let bench = Bench::with(&[FIRST, SECOND]);
    let (store, _) = bench.take();
    assert!(list(&store.work_folder()).is_empty());
}
