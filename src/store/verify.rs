//! The store against its manifest, byte by byte and row by row.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use crate::records::schema;

use super::StoreError;
use super::disk::checked::Sums;
use super::disk::durable::hash_file;
use super::disk::sweep::{Strays, strays};
use super::error::read_again;
use super::manifest::account::{count_rows, load_fates};
use super::manifest::form::{ExportEntry, Manifest, PartEntry};
use super::manifest::layout::Layout;
use super::open::folder::left_by_a_run;
use super::read::open_part;
use super::take::quarantine::open_whole;

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
    let Strays { ours, unknown } = strays(layout, Some(manifest), &left_by_a_run(layout)?)?;
    let later = |path| Damage {
        path,
        what: "is not named by the manifest, which is older".into(),
        advice: "restore the newest manifest.json, or run `motetrail verify --rebuild`".into(),
    };
    let other = |path| Damage {
        path,
        what: "is not named by the manifest".into(),
        advice: "it is none of the store's; put it elsewhere".into(),
    };
    damages.extend(ours.into_iter().map(later));
    damages.extend(unknown.into_iter().map(other));
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
    let advice = read_again(&export.source, &export.file);
    let damage = |(path, what)| Damage { path, what, advice: advice.clone() };
    faults.into_iter().map(damage).collect()
}

/// What is wrong with each file of an export.
pub(super) fn file_faults(layout: &Layout, export: &ExportEntry) -> BTreeMap<PathBuf, String> {
    let mut checked = Vec::new();
    if let Some((path, hash)) = export.quarantine_file(layout) {
        checked.push((verify_quarantine(&path, hash, export), path));
    }
    for part in &export.parts {
        let path = export.part_file(layout, part);
        checked.push((verify_part(&path, part), path));
        if let Some((path, hash)) = export.dropped_file(layout, part).zip(part.dropped.as_ref()) {
            checked.push((verify_dropped(layout, export, part, &path, hash), path));
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
    let sums = Sums::of_file(path).map_err(|error| error.to_string())?;
    same("sums of its columns", &part.sums, &sums.text())?;
    let opened = open_part(path, &schema(part.table), &part.sums);
    let rows = opened.map_err(|error| error.to_string())?.rows();
    same("record count", &part.records.to_string(), &rows.to_string())
}

fn verify_quarantine(path: &Path, hash: &str, export: &ExportEntry) -> Result<(), String> {
    verify_hash(path, hash)?;
    let opened = open_whole(path, hash).map_err(|error| error.to_string())?;
    let rows = opened.rows();
    same("quarantined row count", &export.rows.quarantined.to_string(), &rows.to_string())?;
    let by_reason: u64 = export.reasons.iter().map(|reason| reason.rows).sum();
    same("count of rows by reason", &rows.to_string(), &by_reason.to_string())
}

fn verify_dropped(
    layout: &Layout,
    export: &ExportEntry,
    part: &PartEntry,
    path: &Path,
    hash: &str,
) -> Result<(), String> {
    verify_hash(path, hash)?;
    let fates = load_fates(layout, export, part).map_err(|error| error.to_string())?;
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
