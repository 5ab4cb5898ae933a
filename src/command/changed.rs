//! Says, before anything loads, what new exports have that the maps of their sources do not know.

use std::fs;

use super::log::Log;
use super::peek::look::look;
use super::printable::printable;
use crate::draft::changed;
use crate::settings::{Plan, Source};
use crate::store::Store;
use crate::tabular::Room;

/// Most new exports of a source that are looked at: they are of one shape, or a warning of the first says it.
const MOST_LOOKED_AT: usize = 3;

/// Looks at new exports of sources of which the store has some already, and says how they differ from their maps.
pub(super) fn say_changed(plan: &Plan, store: &Store, log: &Log) {
    let room = Room::of_mib(plan.rules.memory_mib);
    for source in &plan.sources {
        for (file, path) in new_files(plan, source, store) {
            // What cannot be looked at is told when it is taken in.
            let Ok(looked) = look(&path, room) else { continue };
            let found = changed(plan, source, &looked.columns);
            if !found.is_empty() {
                let text =
                    found.iter().fold(String::new(), |text, one| text + "\n           " + one);
                let line = source.line;
                let advice = "if it changed for good: motetrail map FILE --fleet FLEET.TOML drafts a source for it \
                              with every answer that still holds";
                log.warn(&format!(
                    "source {} (line {line}): {} is not as its map expects{text}\n           {advice}",
                    printable(&source.name),
                    printable(&file)
                ));
            }
        }
    }
}

/// Files of a source that the store does not have by their name, where it has others of that source.
fn new_files(plan: &Plan, source: &Source, store: &Store) -> Vec<(String, std::path::PathBuf)> {
    let known: Vec<&str> = store
        .accounts()
        .iter()
        .filter(|account| account.source == source.name)
        .map(|account| account.file.as_str())
        .collect();
    if known.is_empty() {
        return Vec::new();
    }
    let mut found = Vec::new();
    for pattern in &source.files {
        let whole = plan.fleet.folder.join(pattern);
        let Some(paths) = whole.to_str().and_then(|whole| glob::glob(whole).ok()) else { continue };
        for path in paths.filter_map(Result::ok) {
            let file = path.strip_prefix(&plan.fleet.folder).unwrap_or(&path);
            let file = file.to_string_lossy().into_owned();
            let is_file = fs::metadata(&path).is_ok_and(|kind| kind.is_file());
            if is_file && !known.contains(&file.as_str()) && found.len() < MOST_LOOKED_AT {
                found.push((file, path));
            }
        }
    }
    found
}
