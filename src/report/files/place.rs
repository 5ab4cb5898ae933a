//! Files put in their place as one folder: written next to it, synced, and renamed whole.
//!
//! A folder cannot be renamed onto one that holds files, so an older report first steps aside and is removed last. A
//! run stopped before that leaves the old report untouched; one stopped between the two renames leaves it whole under
//! its other name, and the next run puts it back before it starts. What a stopped run left half written is removed
//! then as well. Two runs at a time into one folder are not provided for.
//!
//! Only what is provably a report of this program is replaced or removed: a folder with our `run.json`, or one without
//! a byte in it. Files that somebody put into a report are no part of it and are carried over into the next.

use std::fs;
use std::fs::File;
use std::io;
use std::io::Write;
use std::path::{Path, PathBuf};

use super::run;
use crate::report::error::ReportError;

/// A file of the report: its path inside the folder, with `/`, and its bytes.
pub(in crate::report) type Content = (String, Vec<u8>);

/// Makes the folder that reports go to and tries whether it can be written, so that nobody waits for a report that
/// nothing can take.
///
/// # Errors
/// A folder that cannot be made or written.
pub fn try_folder(folder: &Path) -> Result<(), ReportError> {
    fs::create_dir_all(folder).map_err(at(folder))?;
    // It has no name on disk, so that a run killed here leaves nothing.
    let tried = tempfile::tempfile_in(folder).and_then(|mut file| file.write_all(b"tried"));
    tried.map_err(at(folder))
}

/// Whether a report may be put at `folder`: there is nothing, an earlier report, or an empty folder, and the same holds
/// of the two names next to it that writing needs.
///
/// # Errors
/// Something that is not a report of ours, by its path; a folder without a name; a folder that cannot be read.
pub fn may_replace(folder: &Path) -> Result<(), ReportError> {
    for path in [folder.to_owned(), named_next_to(folder, FRESH)?, named_next_to(folder, ASIDE)?] {
        if exists(&path)? && !is_ours(&path)? {
            return Err(ReportError::NotOurs { path });
        }
    }
    Ok(())
}

/// What stands before the folder's name while it is written, and while an older one stands aside.
const FRESH: &str = ".fresh-";
const ASIDE: &str = ".replaced-";

/// Puts the files into `folder`, in place of whatever report was there. The mark must be among them.
pub(in crate::report) fn place(files: &[Content], folder: &Path) -> Result<(), ReportError> {
    let (fresh, aside) = (named_next_to(folder, FRESH)?, named_next_to(folder, ASIDE)?);
    let parent = parent_of(folder);
    fs::create_dir_all(parent).map_err(at(parent))?;
    if exists(&aside)? && !exists(folder)? && is_ours(&aside)? {
        fs::rename(&aside, folder).map_err(at(folder))?;
    }
    may_replace(folder)?;
    if exists(&aside)? {
        retire(&aside, folder, files)?;
    }
    remove(&fresh)?;
    let placed = write_all(files, &fresh).and_then(|()| swap(&fresh, folder, &aside));
    if placed.is_err() {
        // The first error is the one to tell; what cannot be removed now goes at the next run.
        let _ = fs::remove_dir_all(&fresh);
    }
    placed?;
    sync_folder(parent)?;
    if exists(&aside)? { retire(&aside, folder, files) } else { Ok(()) }
}

/// A name next to the folder, made of its name.
fn named_next_to(folder: &Path, prefix: &str) -> Result<PathBuf, ReportError> {
    let Some(name) = folder.file_name() else {
        return Err(ReportError::Nameless { path: folder.to_owned() });
    };
    let mut hidden = std::ffi::OsString::from(prefix);
    hidden.push(name);
    Ok(folder.with_file_name(hidden))
}

fn parent_of(folder: &Path) -> &Path {
    folder.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// Whether something has this name, a link to nothing too.
fn exists(path: &Path) -> Result<bool, ReportError> {
    match fs::symlink_metadata(path) {
        Ok(_) => Ok(true),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(false),
        Err(error) => Err(at(path)(error)),
    }
}

/// A folder, no link to one, that carries the mark of a report or holds nothing that could be lost.
fn is_ours(path: &Path) -> Result<bool, ReportError> {
    let kind = fs::symlink_metadata(path).map_err(at(path))?.file_type();
    if !kind.is_dir() {
        return Ok(false);
    }
    let mark = path.join(run::NAME);
    let is_file = fs::symlink_metadata(&mark).is_ok_and(|mark| mark.is_file());
    if is_file && run::is_mark(&fs::read(&mark).map_err(at(&mark))?) {
        return Ok(true);
    }
    // The first file of a report is its mark, so a run killed before it was written leaves no byte.
    let held = entries(path)?;
    Ok(held
        .iter()
        .all(|held| fs::symlink_metadata(held).is_ok_and(|held| held.is_file() && held.len() == 0)))
}

/// The mark first: from its first byte on, what a killed run leaves can be recognised as ours.
fn write_all(files: &[Content], into: &Path) -> Result<(), ReportError> {
    fs::create_dir(into).map_err(at(into))?;
    let mut folders = vec![into.to_owned()];
    let is_mark = |content: &&Content| content.0 == run::NAME;
    let others = files.iter().filter(|content| !is_mark(content));
    for (name, bytes) in files.iter().filter(is_mark).chain(others) {
        let path = into.join(name);
        let folder = path.parent().unwrap_or(into).to_owned();
        if !folders.contains(&folder) {
            fs::create_dir_all(&folder).map_err(at(&folder))?;
            folders.push(folder);
        }
        let mut file = File::create(&path).map_err(at(&path))?;
        file.write_all(bytes).and_then(|()| file.sync_all()).map_err(at(&path))?;
    }
    folders.iter().rev().try_for_each(|folder| sync_folder(folder))
}

/// The old folder aside, the new one in; the old one back if that fails.
fn swap(fresh: &Path, folder: &Path, aside: &Path) -> Result<(), ReportError> {
    let had_one = exists(folder)?;
    if had_one {
        fs::rename(folder, aside).map_err(at(folder))?;
    }
    fs::rename(fresh, folder).map_err(|error| {
        if had_one {
            // If this fails too, the next run finds the report under its other name.
            let _ = fs::rename(aside, folder);
        }
        at(folder)(error)
    })
}

/// Removes an old report; whatever is not of a report moves on into the new one. The mark goes last, so that a run
/// killed meanwhile leaves what the next one still knows for a report.
fn retire(old: &Path, new: &Path, files: &[Content]) -> Result<(), ReportError> {
    let mut folders = vec![old.to_owned()];
    let mut at_folder = 0;
    while let Some(folder) = folders.get(at_folder).cloned() {
        at_folder += 1;
        for path in entries(&folder)? {
            if fs::symlink_metadata(&path).map_err(at(&path))?.is_dir() {
                folders.push(path);
                continue;
            }
            let name = path.strip_prefix(old).unwrap_or(&path);
            if name == Path::new(run::NAME) {
                continue;
            }
            if is_of_report(name, files) {
                fs::remove_file(&path).map_err(at(&path))?;
            } else {
                carry(&path, &new.join(name))?;
            }
        }
    }
    let mark = old.join(run::NAME);
    if exists(&mark)? {
        fs::remove_file(&mark).map_err(at(&mark))?;
    }
    folders.iter().rev().try_for_each(|folder| fs::remove_dir(folder).map_err(at(folder)))
}

/// Whether reports write such a file: it has the name of one that is written now, or its folder and ending. Which charts
/// there are depends on the records, so an older report may have some that the new one has not.
fn is_of_report(name: &Path, files: &[Content]) -> bool {
    let is_alike = |written: &Path| {
        let in_folder = written.parent().is_some_and(|folder| !folder.as_os_str().is_empty());
        in_folder && written.parent() == name.parent() && written.extension() == name.extension()
    };
    // A report as one file writes none of the pages that an earlier one had.
    let is_page = name.parent() == Some(Path::new("pages"))
        && name.extension().is_some_and(|extension| extension == "html");
    let mut written = files.iter().map(|(written, _)| Path::new(written));
    is_page || written.any(|written| written == name || is_alike(written))
}

fn carry(from: &Path, to: &Path) -> Result<(), ReportError> {
    let folder = parent_of(to);
    fs::create_dir_all(folder).map_err(at(folder))?;
    if exists(to)? {
        return Err(ReportError::NotOurs { path: from.to_owned() });
    }
    fs::rename(from, to).map_err(at(to))
}

/// Paths in a folder, ordered.
fn entries(folder: &Path) -> Result<Vec<PathBuf>, ReportError> {
    let listed = fs::read_dir(folder).and_then(|entries| {
        entries.map(|entry| entry.map(|entry| entry.path())).collect::<io::Result<Vec<_>>>()
    });
    let mut paths = listed.map_err(at(folder))?;
    paths.sort();
    Ok(paths)
}

fn remove(folder: &Path) -> Result<(), ReportError> {
    match fs::remove_dir_all(folder) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => Err(at(folder)(error)),
        _ => Ok(()),
    }
}

/// Makes the names in a folder durable, where the system can (not every one opens folders).
fn sync_folder(folder: &Path) -> Result<(), ReportError> {
    if cfg!(unix) {
        File::open(folder).and_then(|folder| folder.sync_all()).map_err(at(folder))?;
    }
    Ok(())
}

fn at(path: &Path) -> impl FnOnce(io::Error) -> ReportError {
    let path = path.to_owned();
    move |source| ReportError::Write { path, source }
}
