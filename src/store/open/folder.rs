//! From a folder to a store: what the folder is, before anything in it is touched, and the making of a
//! new one.
//!
//! A store is made by writing, each whole: the key, a manifest without exports, the marker. The marker
//! is last, so a folder with nothing but the first of these is one whose making was stopped.

use std::collections::BTreeSet;
use std::io;
use std::path::PathBuf;

use super::adopt;
use super::marker::Marker;
use super::people_key::{Secret, check_of, make_key, missing, read_key};
use super::run::{Record, sweep};
use crate::store::StoreError;
use crate::store::disk::durable;
use crate::store::disk::lock::{Lock, is_own_lock};
use crate::store::disk::sweep::{Strays, entries, listed, strays};
use crate::store::manifest::form::Manifest;
use crate::store::manifest::layout::{KEPT_FOLDERS, Layout};
use crate::store::manifest::load::Found;

/// What a folder is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    /// Not there, empty, or a store whose making was stopped.
    New,
    Store,
}

/// A store that has been opened.
pub(in crate::store) struct Opened {
    pub manifest: Manifest,
    /// Check value of the manifest on disk.
    pub check: String,
    pub secret: Secret,
    /// None where there was no lock file to hold.
    pub lock: Option<Lock>,
}

/// Looks at a folder without touching it.
fn look(layout: &Layout) -> Result<Kind, StoreError> {
    let found = match entries(layout.root()) {
        Ok(found) => found,
        Err(StoreError::Io { source, .. }) if source.kind() == io::ErrorKind::NotFound => {
            return Ok(Kind::New);
        }
        Err(error) => return Err(error),
    };
    if found.contains(&layout.marker()) || found.contains(&layout.manifest()) {
        // Somebody else's files of these names must be distinguished from a store before a lock is put next to them.
        Marker::load(layout)?;
        Manifest::load(layout)?;
        return Ok(Kind::Store);
    }
    let parts = strays(layout, None, &BTreeSet::new())?.ours;
    if !parts.is_empty() {
        return Err(no_manifest(layout, &parts));
    }
    let begun = [
        layout.lock(),
        layout.people_key(),
        layout.people_key_new(),
        layout.manifest_new(),
        layout.marker_new(),
    ];
    let folders: Vec<PathBuf> =
        KEPT_FOLDERS.iter().map(|folder| layout.kept(folder)).chain([layout.work()]).collect();
    for path in &found {
        let is_empty_folder = || {
            folders.contains(path)
                && path.is_dir()
                && entries(path).is_ok_and(|in_it| in_it.is_empty())
        };
        // A file of somebody's that is called as our lock must not be emptied. A link is left to the lock, which
        // refuses it in words of its own and opens no target.
        let may_be_lock = || path.is_symlink() || is_own_lock(path);
        // Another process that makes the store just now has renamed or removed it since the folder was listed.
        let is_gone = || {
            let met = std::fs::symlink_metadata(path);
            met.is_err_and(|error| error.kind() == io::ErrorKind::NotFound)
        };
        let is_begun_file = begun.contains(path)
            && (is_gone() || path.is_file() && (*path != layout.lock() || may_be_lock()));
        if !is_begun_file && !is_empty_folder() {
            let path = layout.root().to_path_buf();
            return Err(StoreError::NotAStore { path, found: listed(layout, &found) });
        }
    }
    Ok(Kind::New)
}

fn no_manifest(layout: &Layout, parts: &[PathBuf]) -> StoreError {
    let found = match parts {
        [] => "a store".into(),
        parts => listed(layout, parts),
    };
    StoreError::NoManifest { path: layout.root().to_path_buf(), found }
}

/// Opens the store in a folder to change it, made if the folder is new or empty.
pub(in crate::store) fn open(layout: &Layout) -> Result<Opened, StoreError> {
    look(layout)?;
    durable::make_folder(layout.root())?;
    let lock = Lock::take(&layout.lock())?;
    // Another process may have made the store meanwhile.
    if look(layout)? == Kind::New {
        make(layout)?;
    }
    let marker = Marker::load(layout)?;
    let found = Manifest::load(layout)?;
    let secret = read_key(layout, marker.as_ref().map(|marker| marker.people_key.as_str()))?;
    let secret = secret.ok_or_else(|| missing(layout))?;
    let (manifest, check) = match found {
        Found::Whole(manifest, check) => (manifest, check),
        Found::Older(mut manifest) => {
            refuse_strays(layout, &manifest, &BTreeSet::new())?;
            adopt::add_sums(layout, &mut manifest)?;
            let sealed = manifest.sealed(layout)?;
            Manifest::put(layout, &sealed, layout.manifest_new())?;
            (manifest, sealed.check)
        }
        Found::Nothing => {
            return Err(no_manifest(layout, &strays(layout, None, &BTreeSet::new())?.ours));
        }
    };
    sweep(layout, &())?;
    refuse_strays(layout, &manifest, &BTreeSet::new())?;
    if marker.is_none() {
        Marker::new(check_of(&secret))?.write(layout)?;
    }
    for folder in KEPT_FOLDERS {
        durable::make_folder(&layout.kept(folder))?;
    }
    durable::make_folder(&layout.work())?;
    Ok(Opened { manifest, check, secret, lock: Some(lock) })
}

/// Makes a store in a folder that has at most the first files of one.
fn make(layout: &Layout) -> Result<(), StoreError> {
    let secret = match read_key(layout, None)? {
        Some(secret) => secret,
        None => make_key(layout)?,
    };
    let sealed = Manifest::empty().sealed(layout)?;
    Manifest::put(layout, &sealed, layout.manifest_new())?;
    Marker::new(check_of(&secret))?.write(layout)
}

/// Files that the manifest should name and does not.
fn refuse_strays(
    layout: &Layout,
    manifest: &Manifest,
    known: &BTreeSet<PathBuf>,
) -> Result<(), StoreError> {
    let Strays { ours, .. } = strays(layout, Some(manifest), known)?;
    if ours.is_empty() {
        return Ok(());
    }
    Err(StoreError::OldManifest { path: layout.manifest(), files: listed(layout, &ours) })
}

/// Opens a store to look at it. Writes nothing.
pub(in crate::store) fn inspect(layout: &Layout) -> Result<Opened, StoreError> {
    if look(layout)? == Kind::New {
        return Err(StoreError::NoStore { path: layout.root().to_path_buf() });
    }
    let lock = Lock::look(&layout.lock())?;
    let marker = Marker::load(layout)?;
    let secret = read_key(layout, marker.as_ref().map(|marker| marker.people_key.as_str()))?;
    let secret = secret.ok_or_else(|| missing(layout))?;
    let (manifest, check) = match Manifest::load(layout)? {
        Found::Whole(manifest, check) => (manifest, check),
        Found::Older(mut manifest) => {
            adopt::add_sums(layout, &mut manifest)?;
            (manifest, String::new())
        }
        Found::Nothing => {
            return Err(no_manifest(layout, &strays(layout, None, &BTreeSet::new())?.ours));
        }
    };
    Ok(Opened { manifest, check, secret, lock })
}

/// Puts a key into the folder of a store that is still to be made.
pub(in crate::store) fn put_key(layout: &Layout, secret: &[u8]) -> Result<(), StoreError> {
    durable::make_folder(layout.root())?;
    durable::write_private(&layout.people_key(), secret)?;
    read_key(layout, None).map(drop)
}

/// Opens what a worker was handed of a store: a manifest, and some of the files that it names.
pub(in crate::store) fn share(layout: &Layout) -> Result<Opened, StoreError> {
    let Found::Whole(manifest, check) = Manifest::load(layout)? else {
        return Err(StoreError::NoStore { path: layout.root().to_path_buf() });
    };
    durable::make_folder(&layout.work())?;
    // No key: nothing is read here that would need a pseudonym.
    Ok(Opened { manifest, check, secret: Secret::default(), lock: None })
}

/// Files of a run that was stopped and that the next opening will put right.
pub(in crate::store) fn left_by_a_run(layout: &Layout) -> Result<BTreeSet<PathBuf>, StoreError> {
    match Record::load(layout)? {
        Some(record) => {
            let left = record.leftovers(layout, &Manifest::load(layout)?)?;
            Ok(left.into_iter().collect())
        }
        None => Ok(BTreeSet::new()),
    }
}
