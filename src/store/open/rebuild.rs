//! A manifest made again: from the one there is, as far as its files are whole, and from what other
//! parts say of themselves.
//!
//! Nothing is removed. What is damaged, incomplete or of an export that another reading stands for goes
//! to a folder of its own, so that the next intake reads those exports again.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use super::adopt;
use super::folder::Opened;
use super::marker::Marker;
use super::people_key::{check_of, missing, read_key};
use super::run::{Run, sweep};
use crate::records::{Table, schema};
use crate::settings::Plan;
use crate::store::disk::checked::Sums;
use crate::store::disk::durable::{hash_file, make_folder, rename, sync_folder};
use crate::store::disk::lock::Lock;
use crate::store::disk::sweep::{Strays, strays};
use crate::store::manifest::digest;
use crate::store::manifest::form::{ExportEntry, Manifest, PartEntry};
use crate::store::manifest::layout::{FileName, KEPT_FOLDERS, Layout};
use crate::store::manifest::load::Found;
use crate::store::manifest::origin::Origin;
use crate::store::read::open_part;
use crate::store::settle::again::{groups_of, settle_again};
use crate::store::settle::fates::Dropped;
use crate::store::take::quarantine::{open_whole, reasons_of};
use crate::store::take::stage::replaces;
use crate::store::verify::file_faults;
use crate::store::{RowAccount, StoreError};

/// What a rebuilding came to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Rebuilt {
    /// Exports in the new manifest.
    pub exports: usize,
    /// Files that could not be used, ordered by the name they had.
    pub set_aside: Vec<SetAside>,
    /// Files in the store's folders that are none of its own. They stay.
    pub unknown: Vec<PathBuf>,
}

/// A file that could not be used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SetAside {
    /// Its name below the store's folder until now.
    pub was: String,
    /// Where it is.
    pub path: PathBuf,
    /// What was found.
    pub why: String,
}

/// Why files cannot be used, by file.
type Faults = BTreeMap<PathBuf, String>;

/// An export that could be in the new manifest.
struct Reading {
    entry: ExportEntry,
    /// Whether the manifest that there was names it.
    is_named: bool,
}

/// Makes the manifest again; gives the store opened with it.
pub(in crate::store) fn rebuild(
    layout: &Layout,
    plan: &Plan,
) -> Result<(Opened, Rebuilt), StoreError> {
    let marker = Marker::load(layout);
    let is_ours = matches!(marker, Ok(Some(_)))
        || !matches!(Manifest::load(layout), Ok(Found::Nothing) | Err(_))
        || !strays(layout, None, &BTreeSet::new())?.ours.is_empty();
    if !is_ours {
        return Err(StoreError::NoStore { path: layout.root().to_path_buf() });
    }
    let lock = Lock::take(&layout.lock())?;
    for folder in KEPT_FOLDERS {
        make_folder(&layout.kept(folder))?;
    }
    make_folder(&layout.work())?;
    let remembered = marker.as_ref().ok().and_then(Option::as_ref);
    let secret = read_key(layout, remembered.map(|marker| marker.people_key.as_str()))?;
    let secret = secret.ok_or_else(|| missing(layout))?;

    let mut rebuilt = Rebuilt::default();
    let (named, before) = named_exports(layout, &mut rebuilt)?;
    sweep(layout, &())?;
    let mut faults = Faults::new();
    let mut readings = whole_exports(layout, named, &mut faults);
    let mut claimed: BTreeSet<PathBuf> =
        readings.iter().flat_map(|reading| reading.entry.files(layout)).collect();
    claimed.extend(faults.keys().cloned());
    let Strays { ours, .. } = strays(layout, None, &claimed)?;
    readings.extend(described_exports(layout, &ours, &mut faults));
    let exports = chosen(layout, plan, readings, &mut faults);

    let mut manifest = Manifest { exports, ..Manifest::empty() };
    let touched = manifest.exports.iter().flat_map(groups_of).collect();
    let run = Run::new(layout, &before, &())?;
    settle_again(layout, &run, plan, &mut manifest, &touched)?;
    manifest.check().map_err(|why| StoreError::damaged(&layout.manifest(), why))?;
    let check = run.end(&Manifest::empty(), &manifest)?;
    sweep(layout, &())?;

    let Strays { ours, unknown } = strays(layout, Some(&manifest), &BTreeSet::new())?;
    for path in ours {
        let why = faults.remove(&path);
        let why = why.unwrap_or_else(|| "belongs to no export that is whole".into());
        rebuilt.set_aside.push(set_aside(layout, &path, why)?);
    }
    rebuilt.unknown = unknown;
    rebuilt.exports = manifest.exports.len();
    match marker {
        Ok(Some(_)) => {}
        Ok(None) => Marker::new(check_of(&secret))?.write(layout)?,
        Err(error) => {
            rebuilt.set_aside.push(set_aside(layout, &layout.marker(), error.to_string())?);
            Marker::new(check_of(&secret))?.write(layout)?;
        }
    }
    rebuilt.set_aside.sort_by(|a, b| a.was.cmp(&b.was));
    Ok((Opened { manifest, check, secret, lock: Some(lock) }, rebuilt))
}

/// The exports of the manifest that there is, with its check value. One that cannot be used is set aside.
fn named_exports(
    layout: &Layout,
    rebuilt: &mut Rebuilt,
) -> Result<(Vec<ExportEntry>, String), StoreError> {
    match Manifest::load(layout) {
        Ok(Found::Whole(manifest, check)) => Ok((manifest.exports, check)),
        Ok(Found::Older(manifest)) => Ok((manifest.exports, String::new())),
        Ok(Found::Nothing) => Ok((Vec::new(), String::new())),
        Err(StoreError::Damaged { why, .. }) => {
            rebuilt.set_aside.push(set_aside(layout, &layout.manifest(), why)?);
            Ok((Vec::new(), String::new()))
        }
        Err(other) => Err(other),
    }
}

/// Those of the manifest's exports whose parts and quarantine are whole. Lists of what does not stand
/// are made anew for all of them.
fn whole_exports(layout: &Layout, named: Vec<ExportEntry>, faults: &mut Faults) -> Vec<Reading> {
    let mut whole = Vec::new();
    for mut entry in named {
        for part in &mut entry.parts {
            part.fates = Dropped::default();
            part.dropped = None;
        }
        let RowAccount { read, quarantined, expired, .. } = entry.rows;
        let loaded = read.saturating_sub(quarantined).saturating_sub(expired);
        entry.rows = RowAccount { read, loaded, quarantined, expired, ..RowAccount::default() };
        let paths: Vec<PathBuf> =
            entry.parts.iter().map(|part| entry.part_file(layout, part)).collect();
        for (part, path) in entry.parts.iter_mut().zip(&paths) {
            if part.sums.is_empty() {
                part.sums = adopt::whole_sums(path, &part.hash).unwrap_or_default();
            }
        }
        let mut found = file_faults(layout, &entry);
        if found.is_empty() {
            whole.push(Reading { entry, is_named: true });
            continue;
        }
        let again = read_it_again(&entry.source, &entry.file);
        for path in entry.files(layout) {
            let why = found.remove(&path);
            let why = why.unwrap_or_else(|| "is whole, but not all of its export is".into());
            faults.insert(path, format!("{why}{again}"));
        }
    }
    whole
}

/// The files of an export, by what they say of themselves.
#[derive(Default)]
struct Described {
    parts: BTreeMap<Table, (PathBuf, String)>,
    quarantine: Option<(PathBuf, String)>,
}

/// Exports whose files tell what they are and are all there.
fn described_exports(layout: &Layout, files: &[PathBuf], faults: &mut Faults) -> Vec<Reading> {
    // By what is said: two readings of one export may stand side by side.
    let mut by_origin: BTreeMap<String, (Origin, Described)> = BTreeMap::new();
    for path in files {
        let named = path.parent().and_then(Path::file_name).zip(path.file_name());
        let named = named.and_then(|(folder, file)| folder.to_str().zip(file.to_str()));
        let Some(name) = named.and_then(|(folder, file)| FileName::of(folder, file)) else {
            continue;
        };
        // Lists of what does not stand are made anew.
        if path.starts_with(layout.kept("dropped")) {
            continue;
        }
        match described(path, &name) {
            Ok((origin, hash)) => {
                let said = format!("{origin:?}");
                let (_, files) =
                    by_origin.entry(said).or_insert_with(|| (origin, Described::default()));
                match name.table {
                    Some(table) => drop(files.parts.insert(table, (path.clone(), hash))),
                    None => files.quarantine = Some((path.clone(), hash)),
                }
            }
            Err(why) => drop(faults.insert(path.clone(), why)),
        }
    }
    let mut readings = Vec::new();
    for (origin, files) in by_origin.into_values() {
        match entry_of(&origin, &files) {
            Ok(entry) => readings.push(Reading { entry, is_named: false }),
            Err(why) => {
                let paths = files.parts.into_values().chain(files.quarantine);
                let why = why + &read_it_again(&origin.source, &origin.file);
                faults.extend(paths.map(|(path, _)| (path, why.clone())));
            }
        }
    }
    readings
}

/// What a file says of itself, and its hash, if it is whole and its name agrees.
fn described(path: &Path, name: &FileName) -> Result<(Origin, String), String> {
    let Some(expected) = &name.hash else {
        return Err("was written by an earlier form of the store, which needs its manifest".into());
    };
    let hash = hash_file(path).map_err(|error| error.to_string())?;
    if !hash.starts_with(expected) {
        let again = Origin::of_file(path).map(|origin| read_it_again(&origin.source, &origin.file));
        return Err(format!(
            "BLAKE3: found {hash}, expected one that begins with {expected}{}",
            again.unwrap_or_default()
        ));
    }
    let origin = Origin::of_file(path).map_err(why_of)?;
    let has_table = name.table.is_none_or(|table| origin.parts.iter().any(|p| p.table == table));
    if origin.id() != name.export || !has_table {
        return Err("has the name of another file".into());
    }
    Ok((origin, hash))
}

/// The manifest's entry of an export whose files are all there.
fn entry_of(origin: &Origin, files: &Described) -> Result<ExportEntry, String> {
    let mut parts = Vec::new();
    for part in &origin.parts {
        let lost = || format!("its export is not whole: its {} are missing", part.table.name());
        let (path, hash) = files.parts.get(&part.table).ok_or_else(lost)?;
        let sums = Sums::of_file(path).map_err(why_of)?.text();
        let rows = open_part(path, &schema(part.table), &sums).map_err(why_of)?.rows();
        if rows != part.records {
            return Err(format!("record count: found {rows}, expected {}", part.records));
        }
        parts.push(PartEntry {
            table: part.table,
            records: part.records,
            fates: Dropped::default(),
            complete: part.complete,
            newest: part.newest,
            hash: hash.clone(),
            sums,
            dropped: None,
        });
    }
    let reasons = match (&files.quarantine, origin.has_quarantine) {
        (Some((path, hash)), true) => {
            let rows = open_whole(path, hash).map_err(why_of)?.rows();
            if rows != origin.quarantined {
                let expected = origin.quarantined;
                return Err(format!("quarantined row count: found {rows}, expected {expected}"));
            }
            reasons_of(path, hash).map_err(why_of)?
        }
        (None, true) => return Err("its export is not whole: its quarantine is missing".into()),
        (_, false) => Vec::new(),
    };
    let loaded = origin.read.checked_sub(origin.quarantined);
    let loaded = loaded.and_then(|typed| typed.checked_sub(origin.expired_rows));
    let loaded = loaded.ok_or("more rows in quarantine or expired than were read")?;
    Ok(ExportEntry {
        source: origin.source.clone(),
        file: origin.file.clone(),
        hash: origin.hash.clone(),
        version: origin.version,
        digest: origin.digest.clone(),
        timezone: origin.timezone,
        end_face_names: origin.end_face_names,
        one_name_both_sides: origin.one_name_both_sides,
        taken: origin.taken,
        edition: origin.edition,
        plain_names: false,
        rows: RowAccount {
            read: origin.read,
            loaded,
            quarantined: origin.quarantined,
            expired: origin.expired_rows,
            ..RowAccount::default()
        },
        expired: origin.expired.clone(),
        lost: origin.lost.clone(),
        reasons,
        quarantine: files.quarantine.as_ref().map(|(_, hash)| hash.clone()),
        parts,
    })
}

/// One reading of each export, ordered as in a manifest: of several the one by the present settings,
/// then the latest.
fn chosen(
    layout: &Layout,
    plan: &Plan,
    mut readings: Vec<Reading>,
    faults: &mut Faults,
) -> Vec<ExportEntry> {
    let is_current = |entry: &ExportEntry| {
        let source = plan.sources.iter().find(|source| source.name == entry.source);
        source.is_some_and(|source| digest::map_digest(plan, source) == entry.digest)
    };
    readings.sort_by_cached_key(|Reading { entry, is_named }| {
        let rank = (is_current(entry), entry.version, entry.edition, !is_named);
        (Reverse(rank), entry.digest.clone())
    });
    let mut chosen: Vec<ExportEntry> = Vec::new();
    for Reading { entry, .. } in readings {
        let better =
            chosen.iter().find(|better| replaces(better, &entry) || better.key() == entry.key());
        match better.map(|better| better.files(layout)) {
            Some(kept) => {
                let why = "another reading of the same export stands in its place";
                let files = entry.files(layout).into_iter().filter(|path| !kept.contains(path));
                faults.extend(files.map(|path| (path, why.to_string())));
            }
            None => chosen.push(entry),
        }
    }
    chosen.sort_by(|a, b| a.key().cmp(&b.key()));
    chosen
}

/// Moves a file to the folder for what cannot be used, under a name that nothing there has.
fn set_aside(layout: &Layout, path: &Path, why: String) -> Result<SetAside, StoreError> {
    let folder = layout.set_aside();
    make_folder(&folder)?;
    let was = layout.relative(path).unwrap_or_else(|| path.display().to_string());
    let name = was.replace('/', "-");
    let names = std::iter::once(name.clone()).chain((2..).map(|n: u32| format!("{n}-{name}")));
    let free = names.map(|name| folder.join(name)).find(|to| to.symlink_metadata().is_err());
    let to = free.unwrap_or_else(|| folder.join(name));
    rename(path, &to)?;
    sync_folder(&folder)?;
    sync_folder(layout.root())?;
    Ok(SetAside { was, path: to, why })
}

/// What to do about an export that cannot be used, to follow what was found.
fn read_it_again(source: &str, file: &str) -> String {
    format!("; read {file} of source {source} again")
}

/// What was found, without what to do.
fn why_of(error: StoreError) -> String {
    match error {
        StoreError::Damaged { why, .. } => why,
        other => other.to_string(),
    }
}
