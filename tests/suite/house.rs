//! The house: imports point one way, only named places touch files, draw, or name the frame engine.

use std::fs;
use std::path::{Path, PathBuf};

/// Parts from the bottom up; each may use what stands before it.
const PARTS: [&str; 12] = [
    "records", "settings", "tabular", "intake", "draft", "store", "derive", "stats", "measures",
    "charts", "report", "command",
];

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
}

/// Every source file of a part with its text.
fn files_of(part: &str) -> Vec<(PathBuf, String)> {
    let mut found = Vec::new();
    sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src").join(part), &mut found);
    found.sort();
    assert!(!found.is_empty(), "no files in {part}");
    found.into_iter().map(|path| (path.clone(), fs::read_to_string(path).unwrap())).collect()
}

/// Names that follow `crate::` in a text.
fn used(text: &str) -> Vec<String> {
    let name = |rest: &str| rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
    text.split("crate::").skip(1).map(name).collect()
}

#[test]
fn imports_point_one_way() {
    for (place, part) in PARTS.iter().enumerate() {
        for (path, text) in files_of(part) {
            for name in used(&text).iter().filter(|name| PARTS.contains(&name.as_str())) {
                let other = PARTS.iter().position(|part| part == name).unwrap();
                assert!(
                    other <= place,
                    "{} uses crate::{name}, which stands above it",
                    path.display()
                );
            }
        }
    }
}

#[test]
fn statistics_and_charts_and_the_generator_use_nothing_of_ours() {
    for part in ["stats", "charts", "synth"] {
        for (path, text) in files_of(part) {
            let foreign: Vec<String> = used(&text)
                .into_iter()
                .filter(|name| PARTS.contains(&name.as_str()) && name != part)
                .collect();
            assert!(foreign.is_empty(), "{} uses {foreign:?}", path.display());
        }
    }
}

#[test]
fn one_file_names_the_frame_engine() {
    let naming: Vec<PathBuf> = PARTS
        .iter()
        .flat_map(|part| files_of(part))
        .filter(|(_, text)| text.contains("polars::"))
        .map(|(path, _)| path)
        .collect();
    assert_eq!(naming.len(), 1, "{naming:?}");
    assert!(naming[0].ends_with("src/derive/frames.rs"));
}

#[test]
fn statistics_measures_and_charts_touch_no_file() {
    for part in ["stats", "measures", "charts", "records"] {
        for (path, text) in files_of(part) {
            for word in ["std::fs", "File::", "println!", "std::process"] {
                assert!(!text.contains(word), "{} has {word}", path.display());
            }
        }
    }
}

#[test]
fn files_are_short_enough_to_read_in_one_sitting() {
    for part in PARTS {
        for (path, text) in files_of(part) {
            assert!(
                text.lines().count() <= 300,
                "{} has {} lines",
                path.display(),
                text.lines().count()
            );
        }
    }
}
