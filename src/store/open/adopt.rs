//! Stores of the form before this one: read as they are, and made one of this form once.
//!
//! Format 2 had no marker, a manifest without a check value, and files without their hash in their name.
//! The files stay; the manifest gets the sums of their columns, which are made only of files whose hash
//! is right.

use chrono::NaiveDate;
use serde::Deserialize;

use crate::store::StoreError;
use crate::store::disk::checked::Sums;
use crate::store::disk::durable::hash_file;
use crate::store::manifest::form::{ExportEntry, MANIFEST_VERSION, Manifest, Versions};
use crate::store::manifest::layout::Layout;
use crate::store::manifest::written;

/// Version of the manifest that is still read.
const OLDER_VERSION: u32 = 2;

/// A manifest of that version.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct OlderManifest {
    #[serde(rename = "version")]
    _version: u32,
    records_version: u32,
    /// It kept the day of the first intake alone.
    #[serde(with = "written::day")]
    first_intake: Option<NaiveDate>,
    exports: Vec<ExportEntry>,
}

/// Reads a manifest that has no check value. The sums of its parts are empty.
pub(in crate::store) fn read(layout: &Layout, bytes: &[u8]) -> Result<Manifest, StoreError> {
    let path = layout.manifest();
    let damaged = |why: String| StoreError::damaged(&path, why);
    let found = Versions::of(bytes).map_err(&damaged)?;
    if found.is(MANIFEST_VERSION) {
        return Err(damaged("has no check value of itself".into()));
    }
    if !found.is(OLDER_VERSION) {
        found.expect(&path, MANIFEST_VERSION)?;
    }
    found.expect(&path, OLDER_VERSION)?;
    let older: OlderManifest =
        serde_json::from_slice(bytes).map_err(|error| damaged(error.to_string()))?;
    let exports = older.exports.into_iter().map(|export| ExportEntry {
        taken: older.first_intake,
        plain_names: true,
        ..export
    });
    Ok(Manifest {
        version: MANIFEST_VERSION,
        records_version: older.records_version,
        exports: exports.collect(),
    })
}

/// Adds the sums of all parts, each of which must have the hash that the manifest says.
pub(in crate::store) fn add_sums(
    layout: &Layout,
    manifest: &mut Manifest,
) -> Result<(), StoreError> {
    for export in &mut manifest.exports {
        let paths: Vec<_> =
            export.parts.iter().map(|part| export.part_file(layout, part)).collect();
        for (part, path) in export.parts.iter_mut().zip(paths) {
            let sums = whole_sums(&path, &part.hash);
            part.sums = sums.map_err(|error| error.of_export(&export.source, &export.file))?;
        }
    }
    manifest.check().map_err(|why| StoreError::damaged(&layout.manifest(), why))
}

/// The sums of a file that has this hash.
pub(in crate::store) fn whole_sums(
    path: &std::path::Path,
    hash: &str,
) -> Result<String, StoreError> {
    let found = hash_file(path).map_err(|error| StoreError::damaged(path, error))?;
    if found != hash {
        return Err(StoreError::damaged(path, format!("BLAKE3: found {found}, expected {hash}")));
    }
    Ok(Sums::of_file(path)?.text())
}
