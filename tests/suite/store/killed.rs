//! The program killed while it takes exports in: at random moments, and at chosen lengths of the files
//! that it writes. What it leaves is the store as it was or as it was to be, and the next run ends with
//! the bytes of a run that was never killed.

use std::collections::BTreeMap;
use std::fs;
use std::os::unix::process::ExitStatusExt;
use std::process::{Child, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use super::copy;
use super::live_fleet::{LiveFleet, are_of_a_new_store};
use crate::fuzz::Draws;

/// Kills at random moments.
const KILLS: usize = 200;
/// Signal numbers, the same on every Linux.
const SIGKILL: i32 = 9;
const SIGXFSZ: i32 = 25;

type Bytes = BTreeMap<String, Vec<u8>>;

/// What a store may hold after a kill, and what it must hold in the end.
struct Ends {
    /// None: there was no store before.
    before: Option<Bytes>,
    after: Bytes,
}

/// Whatever a killed run left: the store opens as one of the two, and ends as the second.
fn recovers(fleet: &LiveFleet, ends: &Ends) {
    drop(fleet.open());
    let opened = fleet.bytes();
    let whole = match &ends.before {
        Some(before) => opened == *before || opened == ends.after,
        None => are_of_a_new_store(&opened) || opened == ends.after,
    };
    assert!(whole, "a kill left {:?}", opened.keys());
    assert!(fleet.taken_here() == ends.after, "the run after a kill ended elsewhere");
}

/// The fleet before its store, or with the store of its first exports, and what must come of it.
fn start(grown: bool) -> (LiveFleet, Ends) {
    let fleet = if grown { LiveFleet::new() } else { LiveFleet::grown() };
    let before = grown.then(|| fleet.taken());
    if grown {
        copy(&fleet.store(), &fleet.path().join("kept"));
        fleet.grow();
    }
    let after = fleet.taken();
    (fleet, Ends { before, after })
}

/// Puts back the store as it was before all kills.
fn reset(fleet: &LiveFleet) {
    if fleet.store().exists() {
        fs::remove_dir_all(fleet.store()).unwrap();
    }
    let kept = fleet.path().join("kept");
    if kept.exists() {
        copy(&kept, &fleet.store());
    }
}

/// How long a run takes that nobody kills.
fn run_length(fleet: &LiveFleet) -> Duration {
    let runs = (0..3).map(|_| {
        reset(fleet);
        let begun = Instant::now();
        fleet.taken();
        begun.elapsed()
    });
    runs.max().unwrap()
}

/// Whether the run was killed and had not ended by itself.
fn kill_after(mut run: Child, delay: Duration) -> bool {
    thread::sleep(delay);
    run.kill().unwrap();
    run.wait().unwrap().signal() == Some(SIGKILL)
}

/// Kills so many runs, and counts those that left something half-done.
fn kill_many(kills: usize, grown: bool) -> usize {
    let (fleet, ends) = start(grown);
    let mut reach = run_length(&fleet);
    let mut draws = Draws::new(2026 + u64::from(grown));
    let (mut done, mut half_done) = (0, 0);
    while done < kills {
        reset(&fleet);
        let run = fleet.intake().spawn().unwrap();
        // Runs get faster and slower with what else the machine does, so the reach follows them.
        if kill_after(run, reach.mul_f64(draws.share())) {
            done += 1;
            reach = reach.mul_f64(1.02);
        } else {
            reach = reach.mul_f64(0.9);
        }
        let left = if fleet.store().exists() { fleet.bytes() } else { Bytes::new() };
        let is_whole =
            are_of_a_new_store(&left) || left == ends.after || Some(&left) == ends.before.as_ref();
        half_done += usize::from(!is_whole);
        recovers(&fleet, &ends);
    }
    half_done
}

#[test]
fn two_hundred_kills_at_random_moments_change_nothing_in_the_end() {
    let half_done: usize = thread::scope(|scope| {
        let first = scope.spawn(|| kill_many(KILLS / 2, false));
        kill_many(KILLS / 2, true) + first.join().unwrap()
    });
    assert!(half_done >= KILLS / 10, "only {half_done} kills left anything half-done");
}

/// The system ends a process whose file grows beyond its limit: a kill in the middle of that file.
#[test]
fn kills_at_chosen_lengths_of_the_files_change_nothing_in_the_end() {
    for grown in [false, true] {
        let (fleet, ends) = start(grown);
        let mut killed = 0;
        for blocks in (0..60).step_by(3) {
            reset(&fleet);
            let set_up = format!("ulimit -c 0; ulimit -f {blocks}");
            let status = fleet.intake_after(&set_up).status().unwrap();
            if status.code() == Some(0) {
                break;
            }
            assert_eq!(status.signal(), Some(SIGXFSZ), "{status}");
            killed += 1;
            recovers(&fleet, &ends);
        }
        assert!((5..20).contains(&killed), "{killed} kills");
    }
}

#[test]
fn kill_upon_kill_changes_nothing_in_the_end() {
    let (fleet, ends) = start(true);
    let length = run_length(&fleet);
    reset(&fleet);
    let mut draws = Draws::new(7);
    for _ in 0..20 {
        kill_after(fleet.intake().spawn().unwrap(), length.mul_f64(draws.share() * 0.8));
    }
    recovers(&fleet, &ends);
}

#[test]
fn a_second_run_is_refused_with_the_name_of_the_first_and_harms_nothing() {
    let (fleet, ends) = start(true);
    reset(&fleet);
    let holder = fleet.open();
    let second = fleet.intake().stderr(Stdio::piped()).output().unwrap();
    assert_eq!(second.status.code(), Some(3));
    let told = String::from_utf8_lossy(&second.stderr).into_owned();
    assert!(told.contains(&format!("process {} since ", std::process::id())), "{told}");
    assert!(Some(fleet.bytes()) == ends.before);
    drop(holder);
    drop(fleet.open());
    assert!(fleet.taken() == ends.after);
}

#[test]
fn of_runs_started_at_once_each_is_done_or_refused_and_the_store_is_whole() {
    let (fleet, ends) = start(false);
    for _ in 0..8 {
        reset(&fleet);
        let start = || fleet.intake().stderr(Stdio::piped()).spawn().unwrap();
        for run in [start(), start(), start()] {
            let done = run.wait_with_output().unwrap();
            let told = String::from_utf8_lossy(&done.stderr).into_owned();
            let busy = done.status.code() == Some(3) && told.contains("in use by");
            assert!(busy || done.status.code() == Some(0), "{} {told}", done.status);
        }
        assert!(fleet.bytes() == ends.after, "runs at the same time spoilt the store");
    }
}
