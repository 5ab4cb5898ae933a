//! Files that were written anew under their old name: what is on disk now is later than what was.
//!
//! Between files of different names the newest record decides which is later; the old text of a
//! file that was corrected in place must not win by a record that the correction took out.

use crate::store::manifest::form::{ExportEntry, Manifest, PartEntry};

/// The version that these bytes have as the ones now on disk under that name: higher than that of any
/// other bytes of the name. Bytes that were there before and are again are a later version too.
pub(in crate::store) fn version_of(
    manifest: &Manifest,
    source: &str,
    file: &str,
    hash: &str,
) -> u32 {
    let same_name = |export: &&ExportEntry| export.source == source && export.file == file;
    let others = manifest.exports.iter().filter(same_name).filter(|export| export.hash != hash);
    others.map(|other| other.version.saturating_add(1)).max().unwrap_or(0)
}

/// What orders the exports of a source and table from the earliest to the latest: the newest time
/// in them or in an earlier version of theirs, then file name, version and hash.
pub(in crate::store) fn rank<'e>(
    (_, export, part): &(usize, &'e ExportEntry, &'e PartEntry),
    all: &[(usize, &'e ExportEntry, &'e PartEntry)],
) -> (Option<i64>, &'e str, u32, &'e str) {
    let not_later =
        |other: &ExportEntry| other.file == export.file && other.version <= export.version;
    let versions = all.iter().filter(|(_, other, _)| not_later(other));
    let newest = versions.map(|(_, _, part)| part.newest).max().unwrap_or(part.newest);
    (newest, &export.file, export.version, &export.hash)
}
