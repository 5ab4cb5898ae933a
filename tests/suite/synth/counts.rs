//! What the demo must hold: issue 2, item 8.

use std::collections::BTreeSet;
use std::path::Path;

use super::{demo, files, text};

/// Words of one column of every file whose path contains `part`.
fn words(part: &str, separator: char, column: &str) -> BTreeSet<String> {
    let mut words = BTreeSet::new();
    for (path, bytes) in files(demo().0.path()) {
        if path.to_string_lossy().contains(part) {
            let text = text(&path, &bytes);
            let mut lines = text.lines().map(|line| line.split(separator).collect::<Vec<_>>());
            let heading = lines.next().unwrap();
            let at = heading.iter().position(|name| *name == column).unwrap();
            words.extend(lines.filter_map(|cells| cells.get(at).map(|cell| cell.to_string())));
        }
    }
    words
}

fn has(words: &BTreeSet<String>, wanted: &[&str]) -> bool {
    wanted.iter().all(|word| words.contains(*word))
}

#[test]
fn demo_has_forty_thousand_inspections_and_enough_to_follow() {
    let counts = &demo().1.counts;
    assert!((40_000..55_000).contains(&counts.inspections), "{counts:?}");
    assert!((12_000..20_000).contains(&counts.matings), "{counts:?}");
    assert!((350..=650).contains(&demo().1.linked_faults.last_year));
    assert!(counts.matings_both > counts.matings_one && counts.matings_none > 1_000);
}

#[test]
fn demo_has_six_stages_six_families_and_four_optics() {
    let works = words("works/inspections", ',', "step");
    assert!(has(&works, &["cord-shop", "frame-shop", "test-bay"]), "{works:?}");
    let log = words("pl/actions", '|', "phase");
    assert!(has(&log, &["R", "I", "M"]), "{log:?}");
    let families = words("assets", ',', "Form");
    assert!(has(&families, &["LC", "SC", "FC", "BFOC", "MU", "MPO"]), "{families:?}");
    let optics = words("assets", ',', "Optics");
    let four = ["ferrule", "transceiver stub", "lens sealed", "lens flat"];
    assert!(has(&optics, &four), "{optics:?}");
}

#[test]
fn demo_comes_from_ten_sites_in_nine_folders_with_some_exports_packed() {
    let folders: BTreeSet<String> = files(demo().0.path())
        .keys()
        .filter(|path| path.starts_with("exports"))
        .filter_map(|path| path.parent().map(|p| p.display().to_string()))
        .collect();
    let expected =
        ["assets", "desk", "pl", "south", "sr", "thornmoor", "west", "works", "wyndrake"];
    assert!(folders.iter().eq(expected.map(|name| format!("exports/{name}")).iter()));
    let packed =
        files(demo().0.path()).keys().any(|p| p.extension() == Some(Path::new("gz").as_os_str()));
    assert!(packed);
    assert_eq!(demo().1.sites, 10);
}

/// Real exports are a little dirty; the review's limit for quarantined rows is 2 %.
#[test]
fn dirt_of_every_kind_is_there_and_spoils_under_one_row_in_a_hundred() {
    let dirt = &demo().1.exports;
    let spoiled = [dirt.bad_dates, dirt.unknown_codes, dirt.short_rows, dirt.repeated_rows];
    assert!(spoiled.iter().all(|&n| n > 20), "{dirt:?}");
    assert!(dirt.overlap_rows > 100 && dirt.corrected_rows > 5, "{dirt:?}");
    let rows: usize = files(demo().0.path())
        .iter()
        .filter(|(path, _)| path.starts_with("exports"))
        .map(|(path, bytes)| text(path, bytes).lines().count())
        .sum();
    assert!(spoiled.iter().sum::<u64>() * 100 < rows as u64, "{dirt:?} of {rows}");
}
