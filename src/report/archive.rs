//! A report as one archive, to be sent: unpacked, its links work as they do in the folder.

use std::fs;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;
use zip::write::SimpleFileOptions;
use zip::{DateTime, ZipArchive, ZipWriter};

use super::error::ReportError;
use super::files::run;
use super::written::Written;

/// Writes what was written as `<folder>.zip` beside its folder, in place of an earlier archive of a report; returns its
/// path. The same report gives the same bytes.
///
/// # Errors
/// A file that cannot be read or written; something at that path that is no archive of a report.
pub fn zip(written: &Written) -> Result<PathBuf, ReportError> {
    let folder = &written.folder;
    let Some(name) = folder.file_name() else {
        return Err(ReportError::Nameless { path: folder.clone() });
    };
    let mut file_name = name.to_owned();
    file_name.push(".zip");
    let path = folder.with_file_name(file_name);
    let inside = name.to_string_lossy();
    if fs::symlink_metadata(&path).is_ok() && !is_ours(&path, &inside) {
        return Err(ReportError::NotOurs { path });
    }
    let parent = folder.parent().filter(|parent| !parent.as_os_str().is_empty());
    let parent = parent.unwrap_or(Path::new("."));
    let at = |path: &Path| {
        let path = path.to_owned();
        move |source| ReportError::Write { path, source }
    };
    let aside = NamedTempFile::new_in(parent).map_err(at(parent))?;
    let mut archive = ZipWriter::new(aside);
    // Without the time of writing.
    let options = SimpleFileOptions::default().last_modified_time(DateTime::default());
    for file in &written.files {
        let bytes = fs::read(folder.join(file)).map_err(at(&folder.join(file)))?;
        let named = format!("{inside}/{}", file.to_string_lossy().replace('\\', "/"));
        let begun = archive.start_file(named, options).map_err(std::io::Error::from);
        begun.and_then(|()| archive.write_all(&bytes)).map_err(at(&path))?;
    }
    let aside = archive.finish().map_err(std::io::Error::from).map_err(at(&path))?;
    aside.as_file().sync_all().map_err(at(&path))?;
    aside.persist(&path).map_err(|error| at(&path)(error.error))?;
    Ok(path)
}

/// Whether an archive holds a report of ours under this name.
fn is_ours(path: &Path, name: &str) -> bool {
    let mark = || -> Option<Vec<u8>> {
        let mut archive = ZipArchive::new(fs::File::open(path).ok()?).ok()?;
        let file = archive.by_name(&format!("{name}/{}", run::NAME)).ok()?;
        let mut bytes = Vec::new();
        // A mark is small; what is not is none.
        file.take(64 << 20).read_to_end(&mut bytes).ok()?;
        Some(bytes)
    };
    mark().is_some_and(|bytes| run::is_mark(&bytes))
}
