//! Exports that change while they are listed, and the walk through the folders.

use std::fs;
use std::os::unix::fs::symlink;
use std::path::PathBuf;
use std::process::Command;

use motetrail::store::Progress;

use super::{Bench, account, day, list};

const ROW: &str = "1,2026-01-02 08:00,P1,,pass,\n";

/// Does something after the exports were listed and before they are read.
struct Meanwhile<F: Fn() + Sync>(F);

impl<F: Fn() + Sync> Progress for Meanwhile<F> {
    fn expect(&self, _: u64) {
        (self.0)();
    }
    fn passed(&self, _: u64) {}
}

#[test]
fn an_export_that_goes_between_listing_and_reading_is_named_and_the_rest_is_taken() {
    let bench = Bench::with(&[("a.csv", ROW), ("b.csv", "2,2026-01-03 08:00,P2,,pass,\n")]);
    let gone = || fs::remove_file(bench.export("a.csv")).unwrap();
    let mut store = bench.open();
    let taken = store.take(&bench.plan, day(), &Meanwhile(gone)).unwrap();
    assert_eq!((taken.read, taken.known), (1, 0));
    assert_eq!(taken.unread.len(), 1);
    assert_eq!(taken.unread[0].file, "exports/a.csv");
    assert!(!taken.unread[0].earlier);
    assert_eq!(store.unread(), taken.unread);
    assert_eq!(account(&store, "b.csv"), [1, 1, 0, 0, 0]);
    assert_eq!(store.accounts().len(), 1);
}

#[test]
fn an_export_that_becomes_a_pipe_after_listing_is_not_waited_for() {
    let bench = Bench::with(&[("a.csv", ROW)]);
    let piped = || {
        fs::remove_file(bench.export("a.csv")).unwrap();
        assert!(Command::new("mkfifo").arg(bench.export("a.csv")).status().unwrap().success());
    };
    let mut store = bench.open();
    let taken = store.take(&bench.plan, day(), &Meanwhile(piped)).unwrap();
    assert!(taken.unread[0].reason.contains("a pipe (FIFO)"), "{:?}", taken.unread);
}

#[test]
fn nothing_of_a_bad_export_is_left_in_the_store() {
    let bench = Bench::with(&[("a.csv", ROW)]);
    let mut bytes = fs::read(bench.export("a.csv")).unwrap();
    bytes =
        zstd::encode_all([bytes.repeat(1), b"x,y,z,,,\n".repeat(90_000)].concat().as_slice(), 1)
            .unwrap();
    let mut bench = bench;
    bench.plan.sources[0].files = vec!["exports/*".into()];
    fs::write(bench.export("cut.csv.zst"), &bytes[..bytes.len() - 9]).unwrap();
    let (store, taken) = bench.take();
    assert_eq!(taken.unread.len(), 1, "{taken:?}");
    assert!(list(&store.work_folder()).is_empty());
    assert_eq!(list(&bench.store().join("parts")).len(), 1);
    assert!(list(&bench.store().join("quarantine")).is_empty());
    assert_eq!(store.verify().unwrap(), []);
}

/// Files that a pattern finds, by their names in the store.
fn found(bench: &Bench) -> Vec<String> {
    let (store, _) = bench.take();
    store.accounts().iter().map(|account| account.file.clone()).collect()
}

fn write(bench: &Bench, path: &str) -> PathBuf {
    let path = bench.folder.path().join(path);
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    // The rows differ, since the same bytes under two names are one export's repeat.
    let row =
        format!("No,At,Port,Fibre,Result,Cleaned\n1,2026-01-02 08:00,{},,pass,\n", path.display());
    fs::write(&path, row).unwrap();
    path
}

#[test]
fn patterns_reach_as_far_as_they_say() {
    let files = [
        "exports/a.csv",
        "exports/b.txt",
        "exports/.h.csv",
        "exports/x/c.csv",
        "exports/x/y/d.csv",
        "e.csv",
    ];
    let cases: [(&str, &[&str]); 9] = [
        ("exports/*.csv", &["exports/.h.csv", "exports/a.csv"]),
        ("./exports/[ab].*", &["exports/a.csv", "exports/b.txt"]),
        ("exports/?.csv", &["exports/a.csv"]),
        (
            "**/*.csv",
            &["e.csv", "exports/.h.csv", "exports/a.csv", "exports/x/c.csv", "exports/x/y/d.csv"],
        ),
        ("exports/**/**/d.csv", &["exports/x/y/d.csv"]),
        ("exports/*/*.csv", &["exports/x/c.csv"]),
        ("exports/a.csv", &["exports/a.csv"]),
        ("exports", &[]),
        ("exports/a.csv/b.csv", &[]),
    ];
    for (pattern, expected) in cases {
        let mut bench = Bench::new();
        for file in files {
            write(&bench, file);
        }
        bench.plan.sources[0].files = vec![pattern.into()];
        assert_eq!(found(&bench), expected, "{pattern}");
    }
}

#[test]
fn links_are_followed_and_circles_end() {
    let mut bench = Bench::new();
    write(&bench, "elsewhere/a.csv");
    symlink("../elsewhere", bench.export("there")).unwrap();
    symlink("..", bench.export("up")).unwrap();
    bench.plan.sources[0].files = vec!["exports/**/a.csv".into()];
    assert_eq!(found(&bench)[0], "exports/there/a.csv");
    assert!(found(&bench).len() < 5, "{:?}", found(&bench));
}
