//! The folder, the lock and the key.

use std::fs;

use motetrail::store::{Store, StoreError};

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
fn the_day_of_the_first_intake_is_kept() {
    let bench = Bench::with(&[("a.csv", "1,2026-01-02 08:00,P1,,pass,\n")]);
    assert_eq!(bench.open().first_intake(), None);
    drop(bench.take());
    bench.write("b.csv", "2,2026-01-02 08:00,P1,,pass,\n");
    let mut store: Store = bench.open();
    store.take(&bench.plan, day().succ_opt().unwrap(), &()).unwrap();
    assert_eq!(store.first_intake(), Some(day()));
}
