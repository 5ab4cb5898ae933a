//! The house: imports point one way, no files go round in a circle, only named places touch files, draw, or name the
//! frame engine.

use std::fs;
use std::path::{Path, PathBuf};

use modules::Modules;

mod modules;

/// Parts from the bottom up; each may use what stands before it.
const PARTS: [&str; 15] = [
    "calendar", "stats", "records", "settings", "tabular", "intake", "draft", "store", "derive",
    "cluster", "measures", "charts", "report", "synth", "command",
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
fn the_calendar_statistics_charts_and_the_generator_use_nothing_of_ours() {
    for part in ["calendar", "stats", "charts", "synth"] {
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
    for part in ["stats", "measures", "charts", "records", "calendar"] {
        for (path, text) in files_of(part) {
            for word in ["std::fs", "File::", "println!", "std::process"] {
                assert!(!text.contains(word), "{} has {word}", path.display());
            }
        }
    }
}

#[test]
fn no_part_prints_in_a_way_that_a_closed_pipe_brings_down() {
    for part in PARTS {
        for (path, text) in files_of(part) {
            let text = text.replace("eprint", "");
            let prints = text.contains("print!(") || text.contains("println!(");
            assert!(
                !prints,
                "{} prints by a macro that panics; see command/say.rs",
                path.display()
            );
        }
    }
}

#[test]
fn files_of_a_part_use_each_other_one_way() {
    for part in PARTS {
        let circles = Modules::of(part).circles();
        assert!(circles.is_empty(), "files use each other in a circle:\n{}", circles.join("\n"));
    }
}

#[test]
fn a_circle_of_files_is_found_whatever_way_it_is_written() {
    let files = |texts: &[(&str, &str)]| -> Vec<String> {
        let texts = texts.iter().map(|(path, text)| (path.to_string(), text.to_string()));
        Modules::read("part", texts.collect()).circles()
    };
    let root = ("mod.rs", "mod a; mod b; pub use a::{Left, left}; pub use b::*;");
    // To and fro by `super`, by `crate`, through what the root re-exports by name or by star, within a line.
    for there in [
        "use super::b::Right;",
        "use super::b::{self, Right};",
        "use crate::part::{b::{Right}};",
        "use super::Right;",
        "fn f() { crate::part::b::right() }",
        "use super::b; fn f() { b::right() }",
    ] {
        for back in ["use super::a::Left;", "use crate::part::left;", "fn f() { super::Left }"] {
            let b = format!("{back} pub struct Right; pub fn right() {{}}");
            let found = files(&[root, ("a.rs", there), ("b.rs", &b)]);
            assert_eq!(found, ["a.rs -> b.rs -> a.rs"], "{there} {back}");
        }
        // One way is no circle; nor is what only comments and visibility name.
        let b = "//! [`super::a::Left`]\npub(in crate::part) struct Right; // super::a::Left\npub fn right() {}";
        assert_eq!(files(&[root, ("a.rs", there), ("b.rs", b)]), Vec::<String>::new(), "{there}");
    }
    // A root that has something of its own and uses its files is a file like any other.
    let uses = ("mod.rs", "mod a; use a::Left; pub struct Own(Left);");
    assert_eq!(files(&[uses, ("a.rs", "use super::Own;")]), ["mod.rs -> a.rs -> mod.rs"]);
    let declares = ("mod.rs", "mod a; pub use a::Left; pub struct Own;");
    assert_eq!(files(&[declares, ("a.rs", "use super::Own;")]), Vec::<String>::new());
    // Three files in two rooms.
    let rooms = [
        ("mod.rs", "mod low; mod high;"),
        ("low/mod.rs", "pub mod x; pub mod y;"),
        ("low/x.rs", "use super::y::Y;"),
        ("low/y.rs", "use super::super::high::z;"),
        ("high/mod.rs", "pub mod z;"),
        ("high/z.rs", "use crate::part::low::x::X;"),
    ];
    assert_eq!(files(&rooms), ["high/z.rs -> low/x.rs -> low/y.rs -> high/z.rs"]);
}
