//! Says, before anything loads, what new exports have that the maps of their sources do not know.

use std::collections::BTreeSet;

use super::log::Log;
use super::peek::look::look;
use super::printable::printable;
use crate::draft::changed;
use crate::settings::Plan;
use crate::store::{ExportFile, Store};
use crate::tabular::Room;

/// Most new exports of a source that are looked at: they are of one shape, or a warning of the first says it.
const MOST_LOOKED_AT: usize = 3;

/// Looks at new exports of sources of which the store has some already, and says how they differ from their maps.
pub(super) fn say_changed(plan: &Plan, store: &Store, log: &Log) {
    if store.accounts().is_empty() {
        return;
    }
    let room = Room::of_mib(plan.rules.memory_mib);
    // What cannot be listed or looked at is told when it is taken in.
    let exports = Store::exports(plan).unwrap_or_default();
    for source in &plan.sources {
        for ExportFile { file, path, .. } in new_files(&exports, &source.name, store) {
            let Some(Ok(looked)) = path.as_ref().map(|path| look(path, room)) else { continue };
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
                    printable(file)
                ));
            }
        }
    }
}

/// Files of a source that the store does not have by their name, where it has others of that source.
fn new_files<'a>(exports: &'a [ExportFile], source: &str, store: &Store) -> Vec<&'a ExportFile> {
    let accounts = store.accounts().iter().filter(|account| account.source == source);
    let known: BTreeSet<&str> = accounts.map(|account| account.file.as_str()).collect();
    if known.is_empty() {
        return Vec::new();
    }
    let own = exports.iter().filter(|export| export.source == source && export.path.is_some());
    own.filter(|export| !known.contains(export.file.as_str())).take(MOST_LOOKED_AT).collect()
}
