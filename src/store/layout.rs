//! Names of everything in the store's folder.
//!
//! Names of parts are derived, never read from the manifest, so no manifest can point outside
//! the folder.

use std::path::{Path, PathBuf};

use crate::records::{SCHEMA_VERSION, Table};

/// Folders below the store that hold what the manifest names.
pub(super) const KEPT_FOLDERS: [&str; 3] = ["parts", "quarantine", "dropped"];

/// Characters of a hash that go into a file name: 64 bits tell two versions of one file apart.
const HASH_IN_NAME: usize = 16;

/// Paths of one store.
#[derive(Clone, Debug)]
pub(super) struct Layout {
    root: PathBuf,
}

impl Layout {
    pub(super) fn new(root: PathBuf) -> Self {
        Self { root }
    }

    pub(super) fn root(&self) -> &Path {
        &self.root
    }

    /// Held by the process that has the store open.
    pub(super) fn lock(&self) -> PathBuf {
        self.root.join("lock")
    }

    /// The one truth: what is in the store.
    pub(super) fn manifest(&self) -> PathBuf {
        self.root.join("manifest.json")
    }

    /// The next manifest until it is renamed.
    pub(super) fn manifest_new(&self) -> PathBuf {
        self.root.join("manifest.json.new")
    }

    /// Key of the pseudonyms.
    pub(super) fn people_key(&self) -> PathBuf {
        self.root.join("people.key")
    }

    /// Half-done work; empty whenever no process runs.
    pub(super) fn work(&self) -> PathBuf {
        self.root.join("work")
    }

    /// A folder of [`KEPT_FOLDERS`].
    pub(super) fn kept(&self, folder: &str) -> PathBuf {
        self.root.join(folder)
    }

    /// Records of one table from one export.
    pub(super) fn part(&self, table: Table, export: &str) -> PathBuf {
        self.root.join("parts").join(format!("{}-{export}.parquet", table.name()))
    }

    /// Rows of one export that could not be typed.
    pub(super) fn quarantine(&self, export: &str) -> PathBuf {
        self.root.join("quarantine").join(format!("{export}.parquet"))
    }

    /// Which records of a part do not stand. The hash is in the name, since this file changes when
    /// other exports arrive and the old one must live until the manifest has changed.
    pub(super) fn dropped(&self, table: Table, export: &str, hash: &str) -> PathBuf {
        let hash = hash.get(..HASH_IN_NAME).unwrap_or(hash);
        self.root.join("dropped").join(format!("{}-{export}-{hash}.zst", table.name()))
    }
}

/// Name of what one export became: 128 bits, as hex, of everything that its parts depend on.
pub(super) fn export_id(source: &str, file: &str, hash: &str, digest: &str) -> String {
    let mut hasher = blake3::Hasher::new();
    hasher.update(&SCHEMA_VERSION.to_le_bytes());
    for text in [source, file, hash, digest] {
        hasher.update(&(text.len() as u64).to_le_bytes());
        hasher.update(text.as_bytes());
    }
    let mut id = hasher.finalize().to_hex().to_string();
    id.truncate(32);
    id
}
