//! `files` of a source: globs that stay beside the settings.

use glob::Pattern;

use crate::settings::place::Place;
use crate::settings::problems::Problems;
use crate::settings::section::Range;

/// What is expected of a source, in the words of messages.
pub const A_GLOB: &str = "at least one glob such as \"exports/bench-*.csv\"";

/// Globs that lead nowhere but into the settings' folder.
pub struct Globs;

impl Range for Globs {
    type Typed = Vec<String>;
    type Value = Vec<String>;

    fn read(&self, typed: &Vec<String>, place: &Place, problems: &mut Problems) -> Vec<String> {
        if typed.is_empty() {
            problems.add(place, format!("missing; expected {A_GLOB}"));
        }
        for (index, glob) in typed.iter().enumerate() {
            if let Some(fault) = fault(glob) {
                problems.add(&place.index(index), format!("found {glob:?}, {fault}"));
            }
            if typed[..index].contains(glob) {
                problems
                    .add(&place.index(index), format!("found {glob:?} a second time; remove one"));
            }
        }
        typed.clone()
    }

    fn text(&self) -> String {
        A_GLOB.to_owned()
    }

    fn written(&self, value: &Vec<String>) -> String {
        format!("{value:?}")
    }
}

fn fault(glob: &str) -> Option<String> {
    if glob.trim().is_empty() {
        return Some("expected a glob that is not empty".to_owned());
    }
    misplaced(glob).map(str::to_owned).or_else(|| {
        let error = Pattern::new(glob).err()?;
        Some(format!("expected a glob: {} at character {}", error.msg, error.pos + 1))
    })
}

/// What is wrong with a path that must stay in the settings' folder.
pub fn misplaced(path: &str) -> Option<&'static str> {
    let drive = path.as_bytes().get(1) == Some(&b':');
    if path.trim().is_empty() {
        Some("expected a path that is not empty")
    } else if path.starts_with(['/', '\\', '~']) || drive {
        Some("expected a path relative to the settings file")
    } else if path.split(['/', '\\']).any(|part| part == "..") {
        Some("expected no `..`: exports stand in the settings' folder or below")
    } else {
        None
    }
}
