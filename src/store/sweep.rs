//! Removes what a stopped run left: everything that the manifest on disk does not name.

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::StoreError;
use super::layout::{KEPT_FOLDERS, Layout};
use super::manifest::Manifest;

/// Sweeps the store by the manifest that is on disk now, never by one in memory: after a rename that
/// could not be made durable the two may differ.
pub(super) fn sweep(layout: &Layout) -> Result<(), StoreError> {
    let named =
        Manifest::load(layout)?.map(|manifest| files(layout, &manifest)).unwrap_or_default();
    for folder in KEPT_FOLDERS {
        for path in entries(&layout.kept(folder))? {
            if !named.contains(&path) {
                remove(&path)?;
            }
        }
    }
    for path in entries(&layout.work())? {
        remove(&path)?;
    }
    let half = layout.manifest_new();
    if half.exists() { remove(&half) } else { Ok(()) }
}

/// Every file that a manifest names.
pub(super) fn files(layout: &Layout, manifest: &Manifest) -> BTreeSet<PathBuf> {
    let mut named = BTreeSet::new();
    for export in &manifest.exports {
        let id = export.id();
        if export.quarantine.is_some() {
            named.insert(layout.quarantine(&id));
        }
        for part in &export.parts {
            named.insert(layout.part(part.table, &id));
            named.extend(part.dropped.iter().map(|hash| layout.dropped(part.table, &id, hash)));
        }
    }
    named
}

/// Paths in a folder, ordered.
pub(super) fn entries(folder: &Path) -> Result<Vec<PathBuf>, StoreError> {
    let listed = fs::read_dir(folder).and_then(|entries| {
        entries.map(|entry| entry.map(|entry| entry.path())).collect::<io::Result<Vec<_>>>()
    });
    let mut paths = listed.map_err(StoreError::io(folder, "read"))?;
    paths.sort();
    Ok(paths)
}

/// Removes a file. The store makes no folders in its folders, so one found there is not ours and stays.
fn remove(path: &Path) -> Result<(), StoreError> {
    if path.is_dir() {
        return Ok(());
    }
    fs::remove_file(path).map_err(StoreError::io(path, "remove"))
}
