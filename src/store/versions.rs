//! Files that were written anew under their old name: what is on disk now is later than what was.
//!
//! Between files of different names the newest record decides which is later; the old text of a
//! file that was corrected in place must not win by a record that the correction took out.

use std::collections::BTreeSet;

use super::manifest::{ExportEntry, PartEntry};

/// Source, file and hash of the exports that are on disk.
pub(super) type OnDisk = BTreeSet<(String, String, String)>;

/// Makes what is on disk the latest version of its name. Gives the places of the exports that
/// changed by it.
pub(super) fn renumber(exports: &mut [ExportEntry], on_disk: &OnDisk) -> Vec<usize> {
    let mut changed = Vec::new();
    for (source, file, hash) in on_disk {
        let same_name = |export: &&ExportEntry| export.source == *source && export.file == *file;
        let others = exports.iter().filter(same_name).filter(|export| export.hash != *hash);
        let Some(latest) = others.map(|other| other.version).max() else { continue };
        let key = (source.as_str(), file.as_str(), hash.as_str());
        let place = exports.iter().position(|export| export.key() == key);
        if let Some(place) = place.filter(|place| exports[*place].version <= latest) {
            exports[place].version = latest + 1;
            changed.push(place);
        }
    }
    changed
}

/// What orders the exports of a source and table from the earliest to the latest: the newest time
/// in them or in an earlier version of theirs, then file name, version and hash.
pub(super) fn rank<'e>(
    (_, export, part): &(usize, &'e ExportEntry, &'e PartEntry),
    all: &[(usize, &'e ExportEntry, &'e PartEntry)],
) -> (Option<i64>, &'e str, u32, &'e str) {
    let not_later =
        |other: &ExportEntry| other.file == export.file && other.version <= export.version;
    let versions = all.iter().filter(|(_, other, _)| not_later(other));
    let newest = versions.map(|(_, _, part)| part.newest).max().unwrap_or(part.newest);
    (newest, &export.file, export.version, &export.hash)
}
