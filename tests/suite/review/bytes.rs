//! Promise 4: the same inputs, settings and seed give the same bytes, run again or with another
//! number of threads. The program is run from outside.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Command;

use super::demo::copy_demo;

/// Every file below a folder with its bytes.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if path.is_dir() {
            found.extend(
                files(&path).into_iter().map(|(below, bytes)| (format!("{name}/{below}"), bytes)),
            );
        } else {
            found.insert(name, fs::read(&path).unwrap());
        }
    }
    found
}

fn review(fleet: &Path, out: &Path, threads: &str) -> BTreeMap<String, Vec<u8>> {
    let run = Command::new(env!("CARGO_BIN_EXE_motetrail"))
        .args(["review", "--quiet"])
        .arg(fleet.join("fleet.toml"))
        .arg("--out")
        .arg(out)
        .env("RAYON_NUM_THREADS", threads)
        .output()
        .unwrap();
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    files(&out.join("2026-Q2"))
}

#[test]
fn reviews_are_the_same_bytes_again_and_with_any_number_of_threads() {
    let folder = tempfile::tempdir().unwrap();
    let (one, two) = (folder.path().join("one"), folder.path().join("two"));
    copy_demo(&one);
    copy_demo(&two);
    let first = review(&one, &folder.path().join("a"), "1");
    let again = review(&one, &folder.path().join("b"), "2");
    let fresh = review(&two, &folder.path().join("c"), "2");
    assert!(first.contains_key("report.html") && first.contains_key("findings.json"));
    for (other, what) in
        [(&again, "run again on its store"), (&fresh, "on a fresh store with two threads")]
    {
        assert_eq!(first.keys().collect::<Vec<_>>(), other.keys().collect::<Vec<_>>(), "{what}");
        for (name, bytes) in &first {
            assert!(bytes == &other[name], "{name} differs {what}");
        }
    }
}
