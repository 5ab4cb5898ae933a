//! From exports to the files of a store, on workers: the same intake as on one machine, an export or several at a time.

use std::fs::{self, File};
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

use anyhow::{Context, bail};
use chrono::NaiveDate;
use serde::Serialize;

use super::folder::{Folder, OF_SETTINGS, of_store};
use super::ranges::type_ranges;
use crate::derive::share::envelope::{self, Chunk, Envelope};
use crate::derive::share::stage::Kind;
use crate::records::Table;
use crate::store::{KEPT_FOLDERS, Progress, Store, Unread};

/// Environment variable of a worker that types: path of the file with the key of pseudonyms, on the worker.
const KEY_VARIABLE: &str = "MOTETRAIL_PEOPLE_KEY";

/// Folder of the lists of records that do not stand.
pub(super) const DROPPED: &str = "dropped/";

/// Keeps in a file where the reading is, for whoever finds the worker ended.
struct Reached {
    path: Option<PathBuf>,
}

impl Progress for Reached {
    fn expect(&self, _: u64) {}

    fn passed(&self, _: u64) {}

    fn reached(&self, file: &str, line: u64) {
        let Some(path) = &self.path else { return };
        // Aside first: a worker that is killed in between leaves what it said before. And typing is not to end because
        // nobody can be told how far it is.
        let aside = path.with_extension("new");
        let told = fs::write(&aside, format!("{file}:{line}"));
        drop(told.and_then(|()| fs::rename(&aside, path)));
    }
}

/// Types exports, given as files below the settings' folder: parts and quarantine of a store that has these exports alone.
/// Ranges of exports are typed, too, each for itself. Where the reading is stands in the file `at`: the line of a row,
/// some thousands of rows apart, and that of the very row where the program has a fault.
///
/// # Errors
/// A key that is missing; a full disk; an export that cannot be read, where the settings are strict: else it is told of.
pub fn type_exports(
    folder: &Folder,
    (today, at): (NaiveDate, Option<PathBuf>),
    from: impl Read,
    to: impl Write,
) -> anyhow::Result<()> {
    // Read before exports come, of which one may be called like the settings.
    let mut plan = folder.plan()?;
    let strict = std::mem::take(&mut plan.rules.strict);
    envelope::read(from, folder.seal(), |chunk| folder.put(chunk))?;
    let key = std::env::var_os(KEY_VARIABLE).map(PathBuf::from).with_context(|| {
        format!("{KEY_VARIABLE}: found nothing, expected the path of the store's people.key on this worker")
    })?;
    let mut store = Store::with_key(&plan, &key)?;
    let progress = Reached { path: at };
    let taken = store.take(&plan, today, &progress)?;
    let mut stream = Envelope::new(to, folder.seal())?;
    for (entry, number) in store.entries()?.iter().zip(0..) {
        stream.push(Chunk { kind: Kind::Entry, name: "", place: number, bytes: entry })?;
    }
    type_ranges(folder, (&plan, &store), &progress, &mut stream)?;
    drop(store);
    for unread in taken.unread {
        // What the message has beyond the reason may be names of people, and neither a job's files nor the engine's logs
        // are the place for them.
        let unread = Unread { message: format!("{}: {}", unread.file, unread.reason), ..unread };
        if strict {
            bail!("source {}: {}", unread.source, unread.message);
        }
        let bytes = serde_json::to_vec(&unread)?;
        stream.push(Chunk { kind: Kind::Unread, name: &unread.file, place: 0, bytes: &bytes })?;
    }
    // Which records stand is decided over all exports, later.
    let kept = kept(&plan.fleet.store)?.into_iter().filter(|(name, _)| !name.starts_with(DROPPED));
    for (name, path) in kept {
        stream.push_file(&of_store(&name), File::open(path)?)?;
    }
    Ok(stream.finish()?)
}

/// Which files are exports that the settings name, of those whose names are handed in.
///
/// # Errors
/// A full disk.
pub fn exports_among(folder: &Folder, from: impl Read) -> anyhow::Result<Vec<String>> {
    envelope::read(from, folder.seal(), |chunk| {
        // The settings themselves stand there already, and stay what they are.
        let is_there = folder.path().join(chunk.name).exists();
        if is_there { Ok(()) } else { folder.put(chunk) }
    })?;
    let exports = Store::exports(&folder.plan()?)?;
    Ok(exports.iter().map(|export| format!("{OF_SETTINGS}/{}", export.file)).collect())
}

/// Files that a store keeps, by their names relative to its folder, in their order.
pub(super) fn kept(store: &Path) -> anyhow::Result<Vec<(String, PathBuf)>> {
    let mut files = Vec::new();
    for folder in KEPT_FOLDERS.into_iter().filter(|folder| store.join(folder).is_dir()) {
        for entry in fs::read_dir(store.join(folder))? {
            let entry = entry?;
            let name = entry.file_name();
            let name = name.to_str().context("a file of the store has a name that is no text")?;
            files.push((format!("{folder}/{name}"), entry.path()));
        }
    }
    files.sort();
    Ok(files)
}

/// Which files of a store a job needs where.
#[derive(Debug, Serialize)]
pub struct Files {
    /// Needed by every worker: the manifest.
    shared: Vec<String>,
    /// Needed by whoever reads the records of one part: the part, and the list of its records that do not stand.
    units: Vec<Vec<String>>,
    /// Those of the units that hold tickets: who makes rows of tickets needs these, and so does the report.
    tickets: Vec<Vec<String>>,
    /// By place of the export in the manifest: its parts, all of which settling it needs.
    exports: Vec<Vec<String>>,
}

/// Says which files a job needs where, by the manifest that is handed in.
///
/// # Errors
/// A manifest that is missing or damaged.
pub fn described(folder: &Folder, from: impl Read) -> anyhow::Result<Files> {
    envelope::read(from, folder.seal(), |chunk| match chunk.kind {
        Kind::File => folder.put(chunk),
        _ => Ok(()),
    })?;
    let store = Store::share(&folder.plan()?)?;
    let named = |files: Vec<String>| files.iter().map(|name| of_store(name)).collect();
    let shared = named(store.manifest_file().into_iter().collect());
    let units = Table::ALL.into_iter().flat_map(|table| store.files(table)).map(named).collect();
    let tickets = store.files(Table::Faults).into_iter().map(named).collect();
    let exports = store.parts_of_exports().into_iter().map(named).collect();
    Ok(Files { shared, units, tickets, exports })
}
