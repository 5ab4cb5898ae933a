//! Which files on disk the settings' patterns name.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use crate::settings::{Plan, Source};

use super::StoreError;

/// A file that a source names.
pub(super) struct Job<'a> {
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

/// Every file of every source, by source and name, and the patterns without any.
pub(super) fn find_exports(plan: &Plan) -> Result<(Vec<Job<'_>>, Vec<Unmatched>), StoreError> {
    let mut jobs = Vec::new();
    let mut unmatched = Vec::new();
    let mut sources: Vec<&Source> = plan.sources.iter().collect();
    sources.sort_by(|a, b| a.name.cmp(&b.name));
    for source in sources {
        let digest = super::digest::map_digest(plan, source);
        let mut found = BTreeSet::new();
        for pattern in &source.files {
            let matched = matches(&plan.fleet.folder, source, pattern)?;
            if matched.is_empty() {
                let pattern = pattern.clone();
                unmatched.push(Unmatched { source: source.name.clone(), pattern });
            }
            found.extend(matched);
        }
        for path in found {
            let metadata = fs::metadata(&path);
            let length = metadata.map_err(unreadable(&path))?.len();
            let file = relative(&plan.fleet.folder, &path);
            jobs.push(Job { source, digest: digest.clone(), path, file, length });
        }
    }
    Ok((jobs, unmatched))
}

/// The files, not the folders, that a pattern matches below the settings' folder.
fn matches(folder: &Path, source: &Source, pattern: &str) -> Result<Vec<PathBuf>, StoreError> {
    let wrong = |why: String| StoreError::Pattern {
        name: source.name.clone(),
        pattern: pattern.to_string(),
        why,
    };
    let here = glob::Pattern::escape(&folder.to_string_lossy());
    let whole = if Path::new(pattern).is_absolute() || here.is_empty() {
        pattern.to_string()
    } else {
        format!("{here}/{pattern}")
    };
    let mut files = Vec::new();
    for path in glob::glob(&whole).map_err(|error| wrong(error.to_string()))? {
        let path = path.map_err(|error| {
            let path = error.path().to_path_buf();
            StoreError::Unreadable { path, source: error.into() }
        })?;
        // Whatever else it is, a link to nothing too, must be read or be named in an error.
        if !path.is_dir() {
            files.push(path);
        }
    }
    Ok(files)
}

fn relative(folder: &Path, path: &Path) -> String {
    let below = path.strip_prefix(folder).unwrap_or(path);
    let names: Vec<_> = below.iter().map(|name| name.to_string_lossy()).collect();
    if below.is_absolute() { below.to_string_lossy().into_owned() } else { names.join("/") }
}

/// An export that the operating system does not give.
pub(super) fn unreadable(path: &Path) -> impl FnOnce(std::io::Error) -> StoreError {
    move |source| StoreError::Unreadable { path: path.to_path_buf(), source }
}
