//! A library that panics on foreign bytes: an error comes back and nothing is printed.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::process::Command;

use motetrail::tabular::guarded;

#[test]
fn guarded_work_that_panics_comes_back_as_an_error() {
    let done = guarded(|| -> u32 { panic!("words of the library") });
    assert_eq!(done, Err("its reader stopped: words of the library".to_owned()));
    assert_eq!(guarded(|| guarded(|| -> u32 { panic!("inner words") }).is_err()), Ok(true));
    assert_eq!(guarded(|| 3), Ok(3));
    // Not guarded: told as ever.
    assert!(catch_unwind(AssertUnwindSafe(|| panic!("words of our own"))).is_err());
}

#[test]
fn only_a_panic_that_nobody_guards_is_printed() {
    let mut alone = Command::new(std::env::current_exe().unwrap());
    alone.args(["--exact", "--nocapture"]);
    alone.arg("tabular::guarded::guarded_work_that_panics_comes_back_as_an_error");
    let done = alone.output().unwrap();
    let told = String::from_utf8_lossy(&done.stderr);
    let said = String::from_utf8_lossy(&done.stdout);
    assert!(done.status.success() && said.contains("1 passed"), "{said} {told}");
    assert!(told.contains("words of our own"), "{told}");
    assert!(!told.contains("words of the library") && !told.contains("inner words"), "{told}");
}
