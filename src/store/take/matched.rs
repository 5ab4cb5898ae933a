//! Which files on disk the settings' patterns name.

use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsStr;
use std::fs::{self, File, Metadata};
use std::io;
use std::path::{Component, Path, PathBuf};

use crate::settings::{Plan, Source};

use super::globs::expand;
use super::unread::Refused;
use crate::store::StoreError;

/// A file that a source names.
pub(in crate::store) struct Job<'a> {
    pub source: &'a Source,
    /// Hash of the settings that its records depend on, hex.
    pub digest: String,
    pub path: PathBuf,
    /// Path relative to the settings' folder, with `/`.
    pub file: String,
    /// Bytes.
    pub length: u64,
}

/// A pattern that no file matches: perhaps a typing error, perhaps exports moved away.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unmatched {
    /// Name of the source.
    pub source: String,
    /// The pattern as the settings have it.
    pub pattern: String,
}

/// What the patterns of all sources name.
#[derive(Default)]
pub(in crate::store) struct Exports<'a> {
    /// Every file, by source and name.
    pub jobs: Vec<Job<'a>>,
    /// What is named and cannot be read as a file, in the same order.
    pub refused: Vec<Refused>,
    pub unmatched: Vec<Unmatched>,
}

/// Every file of every source, what is no file, and the patterns that match nothing.
pub(in crate::store) fn find_exports(plan: &Plan) -> Result<Exports<'_>, StoreError> {
    let mut exports = Exports::default();
    let mut sources: Vec<&Source> = plan.sources.iter().collect();
    sources.sort_by(|a, b| a.name.cmp(&b.name));
    for source in sources {
        find_of_source(plan, source, &mut exports)?;
    }
    Ok(exports)
}

fn find_of_source<'a>(
    plan: &'a Plan,
    source: &'a Source,
    exports: &mut Exports<'a>,
) -> Result<(), StoreError> {
    let digest = crate::store::manifest::digest::map_digest(plan, source);
    let folder = &plan.fleet.folder;
    let (mut found, mut closed) = (BTreeSet::new(), BTreeMap::new());
    for pattern in &source.files {
        let matched = expand(folder, pattern).map_err(|error| StoreError::Pattern {
            name: source.name.clone(),
            pattern: pattern.clone(),
            why: error.to_string(),
        })?;
        // Whatever else it is, a link to nothing too, must be read or be named as not read.
        let mut is_empty = true;
        for path in matched {
            match path {
                Ok(path) if path.is_dir() => continue,
                Ok(path) => drop(found.insert(path)),
                Err((path, error)) => drop(closed.insert(path, error)),
            }
            is_empty = false;
        }
        if is_empty {
            let pattern = pattern.clone();
            exports.unmatched.push(Unmatched { source: source.name.clone(), pattern });
        }
    }
    let mut refuse = |path: &Path, error: StoreError| {
        let (source, file) = (source.name.clone(), relative(folder, path));
        exports.refused.push(Refused { source, file, error });
    };
    for (path, error) in closed {
        refuse(&path, unreadable(&path)(error));
    }
    let mut taken: BTreeMap<String, PathBuf> = BTreeMap::new();
    for path in found {
        let file = relative(folder, &path);
        match fs::metadata(&path).map_err(unreadable(&path)).and_then(|it| length(&path, &it)) {
            Err(error) => refuse(&path, error),
            // The store knows a file by its name, so two files must not share one.
            Ok(_) if taken.contains_key(&file) => refuse(&path, StoreError::SameName { file }),
            Ok(length) => {
                taken.insert(file.clone(), path.clone());
                exports.jobs.push(Job { source, digest: digest.clone(), path, file, length });
            }
        }
    }
    Ok(())
}

/// Bytes of a file; of anything else the reason why it is not read. To open a pipe would be to wait
/// until somebody writes into it.
fn length(path: &Path, metadata: &Metadata) -> Result<u64, StoreError> {
    if metadata.is_file() {
        return Ok(metadata.len());
    }
    Err(StoreError::NotAFile { path: path.to_path_buf(), kind: kind(metadata) })
}

fn kind(metadata: &Metadata) -> &'static str {
    #[cfg(unix)]
    {
        use std::os::unix::fs::FileTypeExt;
        let kind = metadata.file_type();
        if kind.is_fifo() {
            return "a pipe (FIFO)";
        } else if kind.is_socket() {
            return "a socket";
        } else if kind.is_block_device() || kind.is_char_device() {
            return "a device";
        }
    }
    if metadata.is_dir() { "a folder" } else { "something that is no file" }
}

/// Opens an export. It may have become something else since it was listed.
pub(in crate::store) fn open_export(path: &Path) -> io::Result<File> {
    let metadata = fs::metadata(path)?;
    if !metadata.is_file() {
        return Err(io::Error::other(format!("it has become {}", kind(&metadata))));
    }
    File::open(path)
}

fn relative(folder: &Path, path: &Path) -> String {
    let below = path.strip_prefix(folder).unwrap_or(path);
    let names: Vec<String> = below
        .components()
        .filter(|part| !matches!(part, Component::CurDir | Component::RootDir))
        .map(|part| name(part.as_os_str()))
        .collect();
    let root = if below.is_absolute() { "/" } else { "" };
    format!("{root}{}", names.join("/"))
}

/// A name as text: a byte that is none as U+FFFD with its value, so that two names stay two.
fn name(name: &OsStr) -> String {
    let mut text = String::new();
    for chunk in name.as_encoded_bytes().utf8_chunks() {
        text.push_str(chunk.valid());
        text.extend(chunk.invalid().iter().map(|byte| format!("\u{fffd}{byte:02x}")));
    }
    text
}

/// An export that the operating system does not give.
pub(in crate::store) fn unreadable(path: &Path) -> impl FnOnce(io::Error) -> StoreError {
    move |source| StoreError::Unreadable { path: path.to_path_buf(), source }
}
