//! `files` of a source: globs that stay beside the settings.

use glob::Pattern;

use crate::settings::place::Place;
use crate::settings::problems::Problems;

/// Notes globs that are none, or that lead out of the settings' folder.
pub fn files(globs: Option<&[String]>, place: &Place, problems: &mut Problems) -> Vec<String> {
    let Some(globs) = globs.filter(|globs| !globs.is_empty()) else {
        problems.add(place, "missing; expected at least one glob such as \"exports/bench-*.csv\"");
        return Vec::new();
    };
    for (index, glob) in globs.iter().enumerate() {
        if let Some(fault) = fault(glob) {
            problems.add(&place.index(index), format!("found {glob:?}, {fault}"));
        }
        if globs[..index].contains(glob) {
            problems.add(&place.index(index), format!("found {glob:?} a second time; remove one"));
        }
    }
    globs.to_vec()
}

fn fault(glob: &str) -> Option<String> {
    let drive = glob.as_bytes().get(1) == Some(&b':');
    if glob.trim().is_empty() {
        Some("expected a glob that is not empty".to_owned())
    } else if glob.starts_with(['/', '\\', '~']) || drive {
        Some("expected a path relative to the settings file".to_owned())
    } else if glob.split(['/', '\\']).any(|part| part == "..") {
        Some("expected no `..`: exports stand in the settings' folder or below".to_owned())
    } else {
        let error = Pattern::new(glob).err()?;
        Some(format!("expected a glob: {} at character {}", error.msg, error.pos + 1))
    }
}
