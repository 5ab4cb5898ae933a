//! Files put in their place as one folder: written beside it, synced, and renamed whole.
//!
//! A folder cannot be renamed onto one that holds files, so an older report first steps aside and is removed last. A
//! run stopped before that leaves the old report untouched; one stopped between the two renames leaves it whole under
//! its other name, and the next run puts it back before it starts. What a stopped run left half written is removed
//! then as well. Two runs at a time into one folder are not provided for.

use std::fs;
use std::fs::File;
use std::io;
use std::io::Write;
use std::path::{Path, PathBuf};

use crate::report::error::ReportError;

/// A file of the report: its path inside the folder, with `/`, and its bytes.
pub(in crate::report) type Content = (String, Vec<u8>);

/// Puts the files into `folder`, in place of whatever report was there.
pub(in crate::report) fn place(files: &[Content], folder: &Path) -> Result<(), ReportError> {
    let (fresh, aside) = (beside(folder, ".fresh-")?, beside(folder, ".replaced-")?);
    let parent = parent_of(folder);
    fs::create_dir_all(parent).map_err(at(parent))?;
    if aside.exists() && !folder.exists() {
        fs::rename(&aside, folder).map_err(at(folder))?;
    }
    remove(&aside)?;
    remove(&fresh)?;
    let placed = write_all(files, &fresh).and_then(|()| swap(&fresh, folder, &aside));
    if placed.is_err() {
        // The first error is the one to tell; what cannot be removed now goes at the next run.
        let _ = fs::remove_dir_all(&fresh);
    }
    placed?;
    sync_folder(parent)?;
    remove(&aside)
}

/// Another name beside the folder's own.
fn beside(folder: &Path, prefix: &str) -> Result<PathBuf, ReportError> {
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

fn write_all(files: &[Content], into: &Path) -> Result<(), ReportError> {
    fs::create_dir(into).map_err(at(into))?;
    let mut folders = vec![into.to_owned()];
    for (name, bytes) in files {
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
    let had_one = folder.exists();
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
