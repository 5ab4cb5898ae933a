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
    let store = bench.open();
    let text = fs::read_to_string(bench.store().join("lock")).unwrap();
    assert!(text.starts_with(&format!("process {} since ", std::process::id())), "{text}");
    assert!(!text.contains("1999"), "{text}");
    drop(store);
    assert_eq!(fs::read_to_string(bench.store().join("lock")).unwrap(), "", "nobody has it");
}

#[test]
fn a_folder_with_something_else_in_it_is_not_touched() {
    let mut bench = Bench::with(&[("a.csv", "")]);
    bench.plan.fleet.store = bench.folder.path().join("exports");
    assert!(matches!(bench.refusal(), StoreError::NotAStore { .. }));
    assert_eq!(super::list(&bench.folder.path().join("exports")).len(), 1);
}

#[test]
fn a_folder_with_a_lock_of_its_own_or_folders_named_alike_is_no_store() {
    for files in [
        &["lock", "work/thesis.docx", "parts/drawing.step"][..],
        &["parts/drawing.step"],
        &["work/thesis.docx"],
        &["lock", "notes.txt"],
        &["lock"],
    ] {
        let bench = Bench::new();
        for file in files {
            let path = bench.store().join(file);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, "mine").unwrap();
        }
        for error in [bench.refusal(), Store::inspect(&bench.plan).err().unwrap()] {
            assert!(matches!(error, StoreError::NotAStore { .. }), "{error}");
        }
        let rebuilt = Store::rebuild(&bench.plan).err().unwrap();
        assert!(matches!(rebuilt, StoreError::NoStore { .. }), "{rebuilt}");
        for file in files {
            assert_eq!(fs::read_to_string(bench.store().join(file)).unwrap(), "mine");
        }
        let folders = fs::read_dir(bench.store()).unwrap().count();
        assert_eq!(folders, files.len());
    }
}

#[test]
fn files_in_the_folders_of_a_store_that_are_not_its_own_are_named_and_left() {
    let bench = Bench::with(&[("a.csv", "1,2026-01-02 08:00,P1,,pass,\n")]);
    drop(bench.take());
    let mine =
        ["parts/drawing.step", "work/thesis.docx", "dropped/inspections-old.zst", "notes.txt"];
    for file in mine {
        fs::write(bench.store().join(file), "mine").unwrap();
    }
    bench.write("b.csv", "2,2026-01-02 08:00,P1,,pass,\n");
    let (store, _) = bench.take();
    let damages = store.verify().unwrap();
    let named: Vec<_> = damages.iter().map(|damage| damage.path.clone()).collect();
    assert_eq!(named, [bench.store().join(mine[2]), bench.store().join(mine[0])]);
    drop(store);
    for file in mine {
        assert_eq!(fs::read_to_string(bench.store().join(file)).unwrap(), "mine");
    }
}

#[cfg(unix)]
#[test]
fn a_lock_that_is_a_link_is_refused_and_its_target_is_as_it_was() {
    let bench = Bench::new();
    let target = bench.folder.path().join("letters.txt");
    fs::write(&target, "dear all").unwrap();
    fs::create_dir(bench.store()).unwrap();
    std::os::unix::fs::symlink(&target, bench.store().join("lock")).unwrap();
    let error = bench.refusal();
    assert!(matches!(error, StoreError::Refused { .. }), "{error}");
    assert_eq!(fs::read_to_string(&target).unwrap(), "dear all");
    fs::remove_file(bench.store().join("lock")).unwrap();
    drop(bench.open());
    fs::remove_file(bench.store().join("lock")).unwrap();
    std::os::unix::fs::symlink(&target, bench.store().join("lock")).unwrap();
    assert!(matches!(bench.refusal(), StoreError::Refused { .. }));
    assert!(matches!(Store::inspect(&bench.plan), Err(StoreError::Refused { .. })));
    assert_eq!(fs::read_to_string(&target).unwrap(), "dear all");
}

#[cfg(unix)]
#[test]
fn a_key_that_others_can_read_or_that_is_a_link_is_refused_with_what_to_do() {
    use std::os::unix::fs::PermissionsExt;
    let bench = Bench::with(&[("a.csv", "1,2026-01-02 08:00,P1,,pass,\n")]);
    drop(bench.take());
    let path = bench.store().join("people.key");
    for mode in [0o644, 0o640, 0o604, 0o602] {
        fs::set_permissions(&path, PermissionsExt::from_mode(mode)).unwrap();
        let error = bench.refusal();
        assert!(matches!(error, StoreError::Refused { .. }), "{error}");
        assert!(error.to_string().contains("chmod 600"), "{error}");
    }
    fs::set_permissions(&path, PermissionsExt::from_mode(0o600)).unwrap();
    drop(bench.open());
    let elsewhere = bench.folder.path().join("the.key");
    fs::rename(&path, &elsewhere).unwrap();
    std::os::unix::fs::symlink(&elsewhere, &path).unwrap();
    assert!(matches!(bench.refusal(), StoreError::Refused { .. }));
}

#[test]
fn another_key_than_the_store_was_made_with_is_damage() {
    let bench = Bench::with(&[("a.csv", "1,2026-01-02 08:00,P1,,pass,\n")]);
    drop(bench.take());
    let other = Bench::new();
    drop(other.open());
    let path = bench.store().join("people.key");
    let key = fs::read(&path).unwrap();
    fs::copy(other.store().join("people.key"), &path).unwrap();
    assert!(matches!(bench.refusal(), StoreError::Damaged { .. }));
    // What the store remembers of its key does not hold it.
    let marker = fs::read_to_string(bench.store().join("store.json")).unwrap();
    let hex: String = key.iter().map(|byte| format!("{byte:02x}")).collect();
    assert!(!marker.contains(&hex[..16]));
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
