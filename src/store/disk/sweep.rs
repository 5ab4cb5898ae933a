//! What is in the store's folders besides what the manifest names.

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use crate::store::StoreError;
use crate::store::manifest::form::Manifest;
use crate::store::manifest::layout::{FileName, KEPT_FOLDERS, Layout};

/// Files that nothing accounts for.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(in crate::store) struct Strays {
    /// Those with a name such as the store gives: parts of a later manifest, most likely.
    pub ours: Vec<PathBuf>,
    /// Any other.
    pub unknown: Vec<PathBuf>,
}

/// Everything in the kept folders that neither a manifest nor `known` names, ordered.
pub(in crate::store) fn strays(
    layout: &Layout,
    manifest: Option<&Manifest>,
    known: &BTreeSet<PathBuf>,
) -> Result<Strays, StoreError> {
    let named = manifest.map(|manifest| manifest.files(layout)).unwrap_or_default();
    let mut strays = Strays::default();
    for folder in KEPT_FOLDERS {
        let path = layout.kept(folder);
        if !path.is_dir() {
            continue;
        }
        for path in entries(&path)? {
            if named.contains(&path) || known.contains(&path) {
                continue;
            }
            let name = path.file_name().and_then(|name| name.to_str());
            match name.and_then(|name| FileName::of(folder, name)) {
                Some(_) => strays.ours.push(path),
                None => strays.unknown.push(path),
            }
        }
    }
    Ok(strays)
}

/// The first of some files by name, and how many more.
pub(in crate::store) fn listed(layout: &Layout, files: &[PathBuf]) -> String {
    const SHOWN: usize = 3;
    let name = |path: &PathBuf| layout.relative(path).unwrap_or_else(|| path.display().to_string());
    let shown: Vec<String> = files.iter().take(SHOWN).map(name).collect();
    match files.len().saturating_sub(SHOWN) {
        0 => shown.join(", "),
        more => format!("{} and {more} more", shown.join(", ")),
    }
}

/// Paths in a folder, ordered.
pub(in crate::store) fn entries(folder: &Path) -> Result<Vec<PathBuf>, StoreError> {
    let listed = fs::read_dir(folder).and_then(|entries| {
        entries.map(|entry| entry.map(|entry| entry.path())).collect::<io::Result<Vec<_>>>()
    });
    let mut paths = listed.map_err(StoreError::io(folder, "read"))?;
    paths.sort();
    Ok(paths)
}
