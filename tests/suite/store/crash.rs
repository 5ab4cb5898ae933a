//! Promise 3: a run stopped at any point leaves the store as it was, and the next one ends with the
//! bytes of a run that was never stopped.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Mutex;
use std::sync::atomic::{AtomicI64, Ordering};

use motetrail::store::Progress;

use super::{Bench, copy, day, list};

const FIRST: (&str, &str) =
    ("a.csv", "1,2026-01-02 08:00,P1,,pass,dry\n2,2026-01-02 08:00,P2,,fail,\n");
const SECOND: (&str, &str) = ("b.csv", "1,2026-02-02 08:00,P1,,fail,dry\nx,bad,P2,,fail,\n");

/// A store with the first export, one with both, and an empty place for the state between. The second
/// run brings an export and, by a change of the settings, takes the first one anew: it adds and replaces.
fn before_and_after() -> (Bench, Bench, Bench) {
    let before = Bench::with(&[FIRST]);
    drop(before.take());
    let mut after = Bench::with(&[FIRST]);
    drop(after.take());
    after.write(SECOND.0, SECOND.1);
    after.plan.sources[0].site = Some("Quay 2".into());
    drop(after.take());
    let mut state = Bench::with(&[FIRST, SECOND]);
    state.plan.sources[0].site = Some("Quay 2".into());
    (before, after, state)
}

/// The state opens as `before` or as `after`, and ends as `after`.
fn recovers(state: &Bench, before: &Bench, after: &Bench) {
    let is_whole = state.bytes() == after.bytes();
    drop(state.open());
    let opened = state.bytes();
    assert!(opened == before.bytes() || opened == after.bytes(), "left {:?}", opened.keys());
    assert!(!is_whole || opened == after.bytes(), "what was done was undone");
    let (store, _) = state.take();
    assert_eq!(state.bytes(), after.bytes(), "the next run ended elsewhere");
    assert!(store.verify().unwrap().is_empty());
}

fn reset(state: &Bench, to: &Bench) {
    let _ = fs::remove_dir_all(state.store());
    copy(&to.store(), &state.store());
}

/// Ends the run before one of its durable steps.
struct StopBefore {
    left: AtomicI64,
    passed: Mutex<Vec<String>>,
}

impl StopBefore {
    fn step_number(number: i64) -> Self {
        Self { left: AtomicI64::new(number), passed: Mutex::default() }
    }
}

impl Progress for StopBefore {
    fn expect(&self, _: u64) {}
    fn passed(&self, _: u64) {}
    fn step(&self, what: &str) {
        assert!(self.left.fetch_sub(1, Ordering::Relaxed) > 0, "stopped here");
        self.passed.lock().unwrap().push(what.to_string());
    }
}

/// Runs up to a step; the steps before it, and whether the run came to its end.
fn stopped_before(state: &Bench, step: i64) -> (Vec<String>, bool) {
    let mut store = state.open();
    let stop = StopBefore::step_number(step);
    let run = catch_unwind(AssertUnwindSafe(|| store.take(&state.plan, day(), &stop).unwrap()));
    drop(store);
    (stop.passed.into_inner().unwrap_or_default(), run.is_ok())
}

#[test]
fn a_run_stopped_before_any_of_its_durable_steps_changes_nothing_in_the_end() {
    let (before, after, state) = before_and_after();
    let mut kinds = BTreeMap::new();
    for step in 0..200 {
        reset(&state, &before);
        let (passed, ended) = stopped_before(&state, step);
        recovers(&state, &before, &after);
        if ended {
            passed.into_iter().for_each(|step| *kinds.entry(step).or_insert(0) += 1);
            break;
        }
    }
    let steps: BTreeSet<&str> = kinds.keys().map(String::as_str).collect();
    let expected = [
        "begin a run",
        "bring files to the disk",
        "forget the run",
        "make names durable",
        "name the run's files",
        "put a file in place",
        "put the run's names in place",
        "remove a leftover",
        "remove what was replaced",
        "write the manifest",
    ];
    assert_eq!(steps, BTreeSet::from(expected));
    assert!(kinds["put a file in place"] > 3 && kinds["remove a leftover"] >= 2, "{kinds:?}");
}

#[test]
fn the_first_run_of_a_store_stopped_before_any_step_leaves_a_new_store() {
    let never = Bench::with(&[FIRST, SECOND]);
    drop(never.open());
    let new = never.bytes();
    drop(never.take());
    let state = Bench::with(&[FIRST, SECOND]);
    let mut stops = 0;
    for step in 0..200 {
        let _ = fs::remove_dir_all(state.store());
        let (_, ended) = stopped_before(&state, step);
        drop(state.open());
        assert!(state.bytes() == new || state.bytes() == never.bytes());
        drop(state.take());
        assert_eq!(state.bytes(), never.bytes());
        if ended {
            break;
        }
        stops += 1;
    }
    assert!((10..200).contains(&stops), "{stops}");
}

#[test]
fn a_sweep_that_was_stopped_itself_goes_on_at_the_next_opening() {
    let (before, after, state) = before_and_after();
    let placed = |state: &Bench| list(&state.store().join("parts")).len();
    for step in 0..200 {
        reset(&state, &before);
        let (passed, ended) = stopped_before(&state, step);
        if ended {
            panic!("no run was stopped with files in place and an old manifest");
        }
        if passed.last().is_some_and(|last| last == "put a file in place")
            && placed(&state) > placed(&before)
        {
            let known = list(&before.store().join("parts"));
            let names: Vec<_> = known.iter().filter_map(|path| path.file_name()).collect();
            let new = list(&state.store().join("parts"))
                .into_iter()
                .find(|path| path.file_name().is_some_and(|name| !names.contains(&name)));
            fs::remove_file(new.unwrap()).unwrap();
            recovers(&state, &before, &after);
            return;
        }
    }
}

#[test]
fn a_record_of_a_run_that_was_cut_short_stands_for_a_run_that_did_nothing() {
    let (before, after, state) = before_and_after();
    reset(&state, &before);
    let (passed, _) = stopped_before(&state, 1);
    assert_eq!(passed, ["begin a run"]);
    let record = fs::read(state.store().join("run.json")).unwrap();
    for length in (0..record.len()).step_by(9) {
        reset(&state, &before);
        fs::write(state.store().join("run.json"), &record[..length]).unwrap();
        recovers(&state, &before, &after);
    }
}

#[test]
fn the_making_of_a_store_stopped_between_any_two_files_is_gone_on_with() {
    let whole = Bench::with(&[FIRST]);
    drop(whole.open());
    let order = ["lock", "people.key", "manifest.json", "store.json"];
    for (at, name) in order.iter().enumerate() {
        let state = Bench::with(&[FIRST]);
        fs::create_dir(state.store()).unwrap();
        for made in &order[..at] {
            fs::copy(whole.store().join(made), state.store().join(made)).unwrap();
        }
        let half = fs::read(whole.store().join(name)).unwrap();
        if *name != "lock" {
            let aside = state.store().join(format!("{name}.new"));
            fs::write(aside, &half[..half.len() / 2]).unwrap();
        }
        let key = fs::read(state.store().join("people.key")).ok();
        drop(state.open());
        assert_eq!(state.bytes(), whole.bytes(), "{name}");
        assert!(state.store().join("store.json").exists());
        let now = fs::read(state.store().join("people.key")).unwrap();
        assert!(key.is_none_or(|key| key == now), "a key that was there was changed");
    }
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
        reset(&state, &before);
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
    assert!(!bench.store().join("run.json").exists());
}
