//! One run that changes the store: marked as begun before its first file, ended by the manifest.
//!
//! The record of a run says what manifest it began from, which files it will put in place, and which it
//! takes the place of. So whoever opens the store after a kill knows which files are leftovers of that
//! run, and removes those and no others. The durable steps, each of which may be the last:
//!
//! 1. the record, with the run's name alone; files of that name in the work folder follow;
//! 2. the record with all names and with the check value of the manifest to come;
//! 3. the files, all of them on the disk by now, one by one in their places;
//! 4. the manifest: from here on the run has ended;
//! 5. what it replaced is removed, and last the record.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use serde::{Deserialize, Serialize};

use crate::store::StoreError;
use crate::store::disk::durable::{HashedFile, remove_file, rename, sync_files, sync_folder};
use crate::store::disk::random::random_name;
use crate::store::disk::sweep::entries;
use crate::store::manifest::form::Manifest;
use crate::store::manifest::layout::{KEPT_FOLDERS, Layout};
use crate::store::manifest::load::Found;
use crate::store::manifest::sealed::{seal, unseal};
use crate::store::progress::Progress;

/// Bytes of a run's name.
const NAME_BYTES: usize = 8;

/// What the store remembers of a run under way.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::store) struct Record {
    /// The run's name.
    pub run: String,
    /// Check value of the manifest from which it began.
    pub before: String,
    /// That of the manifest with which it ends; empty until it is known.
    pub after: String,
    /// Files that it puts in place, below the store's folder.
    pub new: Vec<String>,
    /// Files that it takes the place of.
    pub replaced: Vec<String>,
}

impl Record {
    /// The record on disk. One that is not whole was never acted upon: its run had only begun.
    pub fn load(layout: &Layout) -> Result<Option<Self>, StoreError> {
        let path = layout.run();
        match fs::read(&path) {
            Ok(bytes) => Ok(unseal(&bytes).ok().map(|(record, _)| record)),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(error) => Err(StoreError::io(&path, "read")(error)),
        }
    }

    fn text(&self, path: &Path) -> Result<String, StoreError> {
        let sealed = seal(self).map_err(io::Error::other);
        Ok(sealed.map_err(StoreError::io(path, "write"))?.text)
    }

    /// Files of the run in the work folder.
    fn work_files(&self, layout: &Layout) -> Result<Vec<PathBuf>, StoreError> {
        let mine = format!("{}-", self.run);
        let is_mine = |path: &PathBuf| {
            path.file_name().is_some_and(|name| name.to_string_lossy().starts_with(&mine))
        };
        let work = layout.work();
        Ok(if work.is_dir() { entries(&work)? } else { Vec::new() }
            .into_iter()
            .filter(is_mine)
            .collect())
    }

    /// Every file that the run may have left, given the manifest on disk: its own work, and what it put
    /// in place, or replaced if it has ended. Of a manifest that is neither the one it began from nor the one
    /// it ended with nothing is known, so then its own work alone.
    pub fn leftovers(&self, layout: &Layout, found: &Found) -> Result<Vec<PathBuf>, StoreError> {
        let mut left = self.work_files(layout)?;
        let Found::Whole(manifest, check) = found else {
            return Ok(left);
        };
        let names = if *check == self.before {
            &self.new
        } else if *check == self.after {
            &self.replaced
        } else {
            return Ok(left);
        };
        let named = manifest.files(layout);
        let files = names.iter().filter_map(|name| layout.kept_file(name));
        left.extend(files.filter(|path| !named.contains(path) && path.exists()));
        Ok(left)
    }
}

/// A run of this process. Begins with its first file.
pub(in crate::store) struct Run<'a> {
    layout: &'a Layout,
    progress: &'a dyn Progress,
    /// The record, and the work folder once the run has begun.
    record: Mutex<(Record, Option<File>)>,
}

impl<'a> Run<'a> {
    /// A run from the manifest with this check value. Nothing is written yet.
    pub fn new(
        layout: &'a Layout,
        before: &str,
        progress: &'a dyn Progress,
    ) -> Result<Self, StoreError> {
        let record = Record {
            run: random_name::<NAME_BYTES>()?,
            before: before.to_string(),
            after: String::new(),
            new: Vec::new(),
            replaced: Vec::new(),
        };
        Ok(Self { layout, progress, record: Mutex::new((record, None)) })
    }

    /// A path for a half-done file, which nothing else has. Marks the run as begun if it is the first.
    pub fn work_file(&self, name: &str) -> Result<PathBuf, StoreError> {
        // Held while the record is written: no thread may write a file before it is durable.
        let mut record = self.record.lock().unwrap_or_else(PoisonError::into_inner);
        if record.1.is_none() {
            let path = self.layout.run();
            self.progress.step("begin a run");
            let mut file = HashedFile::create(&path)?;
            let text = record.0.text(&path)?;
            file.write_all(text.as_bytes()).map_err(StoreError::io(&path, "write"))?;
            file.finish()?;
            sync_folder(self.layout.root())?;
            let work = self.layout.work();
            record.1 = Some(File::open(&work).map_err(StoreError::io(&work, "read"))?);
        }
        Ok(self.layout.work().join(format!("{}-{name}", record.0.run)))
    }

    /// Keeps an ended file of [`Run::work_file`] for a place in the store. Until the run
    /// ends, [`Layout::found_at`] tells where it is.
    pub fn keep(&self, finished: PathBuf, place: PathBuf) {
        self.layout.is_pending(place, finished);
    }

    /// Ends the run: puts everything in place and makes `next` the truth. Gives its check value. The
    /// sweep that follows removes what `old` names and `next` does not.
    pub fn end(&self, old: &Manifest, next: &Manifest) -> Result<String, StoreError> {
        let layout = self.layout;
        let aside = self.work_file("manifest.json")?;
        let sealed = next.sealed(layout)?;
        let named = next.files(layout);
        let pending = layout.take_pending();
        let relative = |path: &PathBuf| layout.relative(path);
        let replaced = old.files(layout);
        let replaced = replaced.iter().filter(|path| !named.contains(*path));
        // Settling may have made a list for a part that did not stay.
        let stay = || pending.iter().filter(|(place, _)| named.contains(*place));
        let told = {
            let mut record = self.record.lock().unwrap_or_else(PoisonError::into_inner);
            if let Some(work) = &record.1 {
                self.progress.step("bring files to the disk");
                let files: Vec<&Path> = stay().map(|(_, now)| now.as_path()).collect();
                sync_files(work, &files)?;
            }
            record.0.after.clone_from(&sealed.check);
            record.0.new = pending.keys().filter_map(relative).collect();
            record.0.replaced = replaced.filter_map(relative).collect();
            record.0.clone()
        };
        self.tell(&told)?;
        for (place, now) in stay() {
            self.progress.step("put a file in place");
            rename(now, place)?;
        }
        for folder in KEPT_FOLDERS {
            self.progress.step("make names durable");
            sync_folder(&layout.kept(folder))?;
        }
        self.progress.step("write the manifest");
        Manifest::put(layout, &sealed, aside)?;
        self.progress.step("remove what was replaced");
        Ok(sealed.check)
    }

    /// Writes the record anew, whole or not at all.
    fn tell(&self, record: &Record) -> Result<(), StoreError> {
        let path = self.layout.run();
        let aside = self.work_file("run.json")?;
        self.progress.step("name the run's files");
        let mut file = HashedFile::create(&aside)?;
        file.write_all(record.text(&path)?.as_bytes()).map_err(StoreError::io(&aside, "write"))?;
        file.finish()?;
        self.progress.step("put the run's names in place");
        rename(&aside, &path)?;
        sync_folder(self.layout.root())
    }
}

/// Removes what the last run left, whether it had ended or not, and its record.
///
/// Goes by the manifest that is on disk now, never by one in memory: after a rename that could not be made
/// durable the two may differ.
pub(in crate::store) fn sweep(layout: &Layout, step: &dyn Progress) -> Result<(), StoreError> {
    layout.take_pending();
    let path = layout.run();
    if let Some(record) = Record::load(layout)? {
        for left in record.leftovers(layout, &Manifest::load(layout)?)? {
            step.step("remove a leftover");
            remove_file(&left)?;
        }
        for folder in KEPT_FOLDERS.iter().map(|folder| layout.kept(folder)) {
            // A folder that is lost has no names.
            if folder.is_dir() {
                sync_folder(&folder)?;
            }
        }
    }
    step.step("forget the run");
    remove_file(&path)
}
