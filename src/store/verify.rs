//! The store against its manifest, byte by byte and row by row.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use crate::records::{quarantine_schema, schema};

use super::StoreError;
use super::account::{count_rows, load_fates};
use super::durable::hash_file;
use super::layout::{KEPT_FOLDERS, Layout};
use super::manifest::{ExportEntry, Manifest, PartEntry};
use super::read::open_part;
use super::sweep::{entries, files};

/// Something in the store that is not as the manifest says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Damage {
    /// The file concerned.
    pub path: PathBuf,
    /// What was found, what was expected.
    pub what: String,
    /// What to do about it.
    pub advice: String,
}

/// Everything that is wrong, ordered by path.
pub(super) fn verify(layout: &Layout, manifest: &Manifest) -> Result<Vec<Damage>, StoreError> {
    let mut damages: Vec<Damage> =
        manifest.exports.iter().flat_map(|export| verify_export(layout, export)).collect();
    let named = files(layout, manifest);
    for folder in KEPT_FOLDERS {
        for path in entries(&layout.kept(folder))? {
            if !named.contains(&path) {
                damages.push(Damage {
                    path,
                    what: "is not named by the manifest".into(),
                    advice: "remove it; nothing reads it".into(),
                });
            }
        }
    }
    damages.sort_by(|a, b| a.path.cmp(&b.path));
    Ok(damages)
}

fn verify_export(layout: &Layout, export: &ExportEntry) -> Vec<Damage> {
    let mut faults = file_faults(layout, export);
    if faults.is_empty()
        && let Err(what) = verify_account(layout, export)
    {
        let what = format!("{} of source {}: {what}", export.file, export.source);
        faults.insert(layout.manifest(), what);
    }
    let advice = format!(
        "restore the store from a backup; or delete its folder and run again, with {} of source {} in place",
        export.file, export.source
    );
    let damage = |(path, what)| Damage { path, what, advice: advice.clone() };
    faults.into_iter().map(damage).collect()
}

/// What is wrong with each file of an export.
fn file_faults(layout: &Layout, export: &ExportEntry) -> BTreeMap<PathBuf, String> {
    let id = export.id();
    let mut checked = Vec::new();
    if let Some(hash) = &export.quarantine {
        let path = layout.quarantine(&id);
        checked.push((verify_quarantine(&path, hash, export), path));
    }
    for part in &export.parts {
        let path = layout.part(part.table, &id);
        checked.push((verify_part(&path, part), path));
        if let Some(hash) = &part.dropped {
            let path = layout.dropped(part.table, &id, hash);
            checked.push((verify_dropped(layout, &id, part, &path, hash), path));
        }
    }
    let fault = |(checked, path): (Result<(), String>, PathBuf)| Some((path, checked.err()?));
    checked.into_iter().filter_map(fault).collect()
}

/// The row account against the records.
fn verify_account(layout: &Layout, export: &ExportEntry) -> Result<(), String> {
    let counted = count_rows(layout, export).map_err(|error| error.to_string())?;
    same("row account", &format!("{:?}", export.rows), &format!("{counted:?}"))
}

/// The hash first: bytes that are not ours are not handed to a parser.
fn verify_hash(path: &Path, expected: &str) -> Result<(), String> {
    let found = hash_file(path).map_err(|error| error.to_string())?;
    same("BLAKE3", expected, &found)
}

fn verify_part(path: &Path, part: &PartEntry) -> Result<(), String> {
    verify_hash(path, &part.hash)?;
    let opened = open_part(path, &schema(part.table)).map_err(|error| error.to_string())?;
    same("record count", &part.records.to_string(), &opened.rows().to_string())
}

fn verify_quarantine(path: &Path, hash: &str, export: &ExportEntry) -> Result<(), String> {
    verify_hash(path, hash)?;
    let opened = open_part(path, &quarantine_schema()).map_err(|error| error.to_string())?;
    let rows = opened.rows();
    same("quarantined row count", &export.rows.quarantined.to_string(), &rows.to_string())?;
    let by_reason: u64 = export.reasons.iter().map(|reason| reason.rows).sum();
    same("count of rows by reason", &rows.to_string(), &by_reason.to_string())
}

fn verify_dropped(
    layout: &Layout,
    id: &str,
    part: &PartEntry,
    path: &Path,
    hash: &str,
) -> Result<(), String> {
    verify_hash(path, hash)?;
    let fates = load_fates(layout, id, part).map_err(|error| error.to_string())?;
    let found = fates.map(|fates| fates.dropped()).unwrap_or_default();
    same("records that do not stand", &format!("{:?}", part.fates), &format!("{found:?}"))
}

fn same(what: &str, expected: &str, found: &str) -> Result<(), String> {
    if expected == found {
        Ok(())
    } else {
        Err(format!("{what}: found {found}, expected {expected}"))
    }
}
