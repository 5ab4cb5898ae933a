//! The folder, the lock and the key.

use std::fs;
use std::time::{Duration, UNIX_EPOCH};

use chrono::Days;
use motetrail::store::{Store, StoreError, day_of};

use super::{Bench, day};

#[test]
fn a_second_opening_is_refused_and_told_who_has_the_store() {
    let bench = Bench::new();
    let first = bench.open();
    let error = bench.refusal();
    assert!(matches!(error, StoreError::Busy { .. }));
    assert!(error.to_string().contains(&format!("process {}", std::process::id())), "{error}");
    drop(first);
    drop(bench.open());
}

#[test]
fn the_lock_file_of_a_dead_process_is_no_obstacle() {
    let bench = Bench::new();
    fs::create_dir(bench.store()).unwrap();
    fs::write(
        bench.store().join("lock"),
        "process 1 since 1999-01-01T00:00:00Z and much more text",
    )
    .unwrap();
    drop(bench.open());
    let text = fs::read_to_string(bench.store().join("lock")).unwrap();
    assert!(text.starts_with(&format!("process {} since ", std::process::id())), "{text}");
    assert!(!text.contains("1999"), "{text}");
}

#[test]
fn a_folder_with_something_else_in_it_is_not_touched() {
    let mut bench = Bench::with(&[("a.csv", "")]);
    bench.plan.fleet.store = bench.folder.path().join("exports");
    assert!(matches!(bench.refusal(), StoreError::NotAStore { .. }));
    assert_eq!(super::list(&bench.folder.path().join("exports")).len(), 1);
}

#[cfg(unix)]
#[test]
fn the_key_is_made_once_and_only_its_owner_can_read_it() {
    use std::os::unix::fs::PermissionsExt;
    let bench = Bench::with(&[("a.csv", "1,2026-01-02 08:00,P1,,pass,\n")]);
    drop(bench.take());
    let path = bench.store().join("people.key");
    assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o600);
    let key = fs::read(&path).unwrap();
    assert_eq!(key.len(), 32);
    drop(bench.open());
    assert_eq!(fs::read(&path).unwrap(), key);
}

#[test]
fn a_lost_or_cut_key_is_damage_not_a_new_key() {
    let bench = Bench::with(&[("a.csv", "1,2026-01-02 08:00,P1,,pass,\n")]);
    drop(bench.take());
    let path = bench.store().join("people.key");
    fs::write(&path, b"short").unwrap();
    assert!(matches!(bench.refusal(), StoreError::Damaged { .. }));
    fs::remove_file(&path).unwrap();
    assert!(matches!(bench.refusal(), StoreError::Damaged { .. }));
    assert!(!path.exists());
}

#[test]
fn the_day_of_the_last_intake_that_brought_records_is_kept() {
    let mut bench = Bench::with(&[("a.csv", "1,2026-01-02 08:00,P1,,pass,\n")]);
    assert_eq!(bench.open().last_intake_day(), None);
    drop(bench.take());
    let take_on = |bench: &Bench, later: u64| {
        let today = day().checked_add_days(Days::new(later)).unwrap();
        let mut store: Store = bench.open();
        store.take(&bench.plan, today, &()).unwrap();
        (store.last_intake_day() == Some(today), store.last_intake_day())
    };
    assert_eq!(take_on(&bench, 1), (false, Some(day())), "nothing was new");
    bench.write("b.csv", "x,bad,P1,,pass,\n");
    assert_eq!(take_on(&bench, 2), (false, Some(day())), "no row of it is a record");
    bench.plan.sources[0].site = Some("Quay 2".into());
    assert_eq!(take_on(&bench, 3), (false, Some(day())), "the same bytes, read by other settings");
    bench.write("c.csv", "2,2026-01-02 08:00,P1,,pass,\n");
    assert!(take_on(&bench, 4).0);
    assert!(take_on(&bench, 5).1 < day().checked_add_days(Days::new(5)));
}

#[test]
fn a_clock_before_1970_is_an_error_that_says_so() {
    let before = UNIX_EPOCH - Duration::from_secs(90);
    let error = day_of(before).unwrap_err();
    assert!(matches!(error, StoreError::Clock { .. }));
    assert_eq!(
        error.to_string(),
        "the machine's clock stands at 90 s before 1970, expected a day since 1970; set the clock"
    );
    let day = day_of(UNIX_EPOCH + Duration::from_secs(86_399)).unwrap();
    assert_eq!(day.to_string(), "1970-01-01");
}
