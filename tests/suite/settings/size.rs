//! Settings that are very large, or wrong in very many places.

use std::fs;

use motetrail::settings::read;

use super::{LEAST, least_and, least_with, plan, problems};

/// A source of its own name.
fn source(number: usize) -> String {
    let from = LEAST.find("[[source]]").unwrap();
    LEAST[from..].replace("\"bench\"", &format!("\"bench {number:04}\""))
}

#[test]
fn thousands_of_sources_are_read_each_with_its_line() {
    let sources: String = (0..4000).map(source).collect();
    let plan = plan(&least_and(&sources));
    let before = LEAST[..LEAST.find("[[source]]").unwrap()].lines().count();
    let lines = source(0).lines().count();
    assert_eq!(plan.sources.len(), 4001);
    for number in [0, 1, 17, 3999] {
        let named = format!("bench {number:04}");
        let found = plan.sources.iter().find(|source| source.name == named).unwrap();
        assert_eq!(found.line, before + 1 + number * lines);
    }
}

#[test]
fn a_name_taken_by_the_first_of_thousands_of_sources_is_told_with_its_line() {
    let sources: String = (0..2000).map(source).collect();
    let found = problems(&(least_and(&sources) + &source(0)));
    assert_eq!(found.lines().count(), 1, "{found}");
    assert!(found.contains("\"bench 0000\", the name of the source on line 6;"), "{found}");
}

#[test]
fn settings_of_more_than_four_mebibytes_are_refused() {
    let comments = "# nothing is said here\n".repeat(50_000_000 / 23);
    let found = problems(&least_and(&comments));
    assert!(found.starts_with("fleet.toml:1"), "{found}");
    assert!(
        found.contains("more than 4 MiB, expected at most 4 MiB; take out comments"),
        "{found}"
    );
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("fleet.toml");
    fs::write(&path, least_and(&comments)).unwrap();
    let found = read(&path).unwrap_err().to_string();
    assert!(found.contains("fleet.toml:1:1 found settings of more than 4 MiB"), "{found}");
    // A little below it they are read.
    plan(&least_and(&comments[..(4 << 20) - 2000]));
}

#[test]
fn after_a_hundred_values_of_a_wrong_type_no_others_are_sought() {
    let wrong: String =
        (0..300).map(|number| source(number).replace("site = \"Works\"", "site = 7")).collect();
    let found = problems(&least_and(&wrong));
    assert_eq!(found.lines().filter(|line| line.contains("found integer 7")).count(), 100);
    assert!(found.contains("stopped after 100 values of a wrong type"), "{found}");
    assert_eq!(found.lines().count(), 101, "{found}");
    let three = least_with("site = \"Works\"", "site = 7");
    assert_eq!(problems(&three).lines().count(), 1);
}
