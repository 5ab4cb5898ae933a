//! Names of everything in the store's folder.
//!
//! Names of parts are derived, never read from the manifest, so no manifest can point outside
//! the folder. Each carries the start of its file's hash: a part that is written anew never has the
//! name of the one whose place it takes, and a file tells by itself whether it is whole.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use crate::records::{SCHEMA_VERSION, Table};

/// Folders below the store that hold what the manifest names.
pub const KEPT_FOLDERS: [&str; 3] = ["parts", "quarantine", "dropped"];

/// Folder for half-done work.
const WORK_FOLDER: &str = "work";

/// Folder for what a rebuilding found and could not use.
const SET_ASIDE_FOLDER: &str = "set-aside";

/// Characters of a hash that go into a file name: 64 bits tell two versions of one file apart.
const HASH_IN_NAME: usize = 16;

/// Characters of an export's name.
const ID_CHARS: usize = 32;

/// Paths of one store.
#[derive(Clone, Debug)]
pub(in crate::store) struct Layout {
    root: PathBuf,
    /// Files that a run has finished and not yet put in place: place to where they are.
    pending: Arc<Mutex<BTreeMap<PathBuf, PathBuf>>>,
}

impl Layout {
    pub(in crate::store) fn new(root: PathBuf) -> Self {
        Self { root, pending: Arc::default() }
    }

    pub(in crate::store) fn root(&self) -> &Path {
        &self.root
    }

    /// Held by the process that has the store open.
    pub(in crate::store) fn lock(&self) -> PathBuf {
        self.root.join("lock")
    }

    /// What the folder is known by as a store.
    pub(in crate::store) fn marker(&self) -> PathBuf {
        self.root.join("store.json")
    }

    /// The marker until it is renamed.
    pub(in crate::store) fn marker_new(&self) -> PathBuf {
        self.root.join("store.json.new")
    }

    /// The one truth: what is in the store.
    pub(in crate::store) fn manifest(&self) -> PathBuf {
        self.root.join("manifest.json")
    }

    /// The first manifest of a store until it is renamed.
    pub(in crate::store) fn manifest_new(&self) -> PathBuf {
        self.root.join("manifest.json.new")
    }

    /// What a run that has begun will leave and remove; not there when none is under way.
    pub(in crate::store) fn run(&self) -> PathBuf {
        self.root.join("run.json")
    }

    /// Key of the pseudonyms.
    pub(in crate::store) fn people_key(&self) -> PathBuf {
        self.root.join("people.key")
    }

    /// The key until it is renamed.
    pub(in crate::store) fn people_key_new(&self) -> PathBuf {
        self.root.join("people.key.new")
    }

    /// Hashes of names that must not come back; not there before the first.
    pub(in crate::store) fn forgotten(&self) -> PathBuf {
        self.root.join("forgotten.json")
    }

    /// The same until it is renamed.
    pub(in crate::store) fn forgotten_new(&self) -> PathBuf {
        self.root.join("forgotten.json.new")
    }

    /// Half-done work; empty whenever no process runs.
    pub(in crate::store) fn work(&self) -> PathBuf {
        self.root.join(WORK_FOLDER)
    }

    /// What a rebuilding could not use.
    pub(in crate::store) fn set_aside(&self) -> PathBuf {
        self.root.join(SET_ASIDE_FOLDER)
    }

    /// A folder of [`KEPT_FOLDERS`].
    pub(in crate::store) fn kept(&self, folder: &str) -> PathBuf {
        self.root.join(folder)
    }

    /// Records of one table from one export. Without a hash, as the store's format 2 named it.
    pub(in crate::store) fn part(&self, table: Table, export: &str, hash: Option<&str>) -> PathBuf {
        let name = format!("{}-{export}{}.parquet", table.name(), tail(hash));
        self.root.join("parts").join(name)
    }

    /// Rows of one export that could not be typed. Without a hash, as the store's format 2 named it.
    pub(in crate::store) fn quarantine(&self, export: &str, hash: Option<&str>) -> PathBuf {
        self.root.join("quarantine").join(format!("{export}{}.parquet", tail(hash)))
    }

    /// Which records of a part do not stand. Changes when other exports arrive, and the old one must live
    /// until the manifest has changed.
    pub(in crate::store) fn dropped(&self, table: Table, export: &str, hash: &str) -> PathBuf {
        let name = format!("{}-{export}{}.zst", table.name(), tail(Some(hash)));
        self.root.join("dropped").join(name)
    }

    /// Path below the root, with `/`; none for what is not below it.
    pub(in crate::store) fn relative(&self, path: &Path) -> Option<String> {
        let below = path.strip_prefix(&self.root).ok()?;
        let names: Option<Vec<&str>> = below.iter().map(|name| name.to_str()).collect();
        names.map(|names| names.join("/"))
    }

    /// The file of a name that [`Layout::relative`] gave; none if it is no name of the store's own files,
    /// so that a record of names cannot point anywhere else.
    pub(in crate::store) fn kept_file(&self, name: &str) -> Option<PathBuf> {
        let (folder, file) = name.split_once('/')?;
        FileName::of(folder, file).map(|_| self.root.join(folder).join(file))
    }

    /// Where a file is at this moment: in its place, or with a run that has not put it there yet.
    pub(in crate::store) fn found_at(&self, place: PathBuf) -> PathBuf {
        self.pending().get(&place).cloned().unwrap_or(place)
    }

    /// Notes that a run has finished a file and will put it in place.
    pub(in crate::store) fn is_pending(&self, place: PathBuf, now: PathBuf) {
        self.pending().insert(place, now);
    }

    /// All that is pending, which is pending no longer: place and where it is.
    pub(in crate::store) fn take_pending(&self) -> BTreeMap<PathBuf, PathBuf> {
        std::mem::take(&mut *self.pending())
    }

    fn pending(&self) -> std::sync::MutexGuard<'_, BTreeMap<PathBuf, PathBuf>> {
        // Every change is one insertion: a panic elsewhere leaves the map whole.
        self.pending.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// The end of a name with this hash.
fn tail(hash: Option<&str>) -> String {
    hash.map(|hash| format!("-{}", hash.get(..HASH_IN_NAME).unwrap_or(hash))).unwrap_or_default()
}

/// What a name of [`KEPT_FOLDERS`] says of its file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::store) struct FileName {
    /// None for a quarantine.
    pub table: Option<Table>,
    /// Of which export.
    pub export: String,
    /// Start of the file's hash; none in the store's format 2.
    pub hash: Option<String>,
}

impl FileName {
    /// Reads a name; none where the store gives no such name in that folder.
    pub fn of(folder: &str, file: &str) -> Option<Self> {
        let (ending, has_table) = match folder {
            "parts" => (".parquet", true),
            "quarantine" => (".parquet", false),
            "dropped" => (".zst", true),
            _ => return None,
        };
        let mut pieces = file.strip_suffix(ending)?.split('-');
        let table = if has_table { Some(Table::named(pieces.next()?)?) } else { None };
        let export = pieces.next().filter(|id| is_hex(id, ID_CHARS))?.to_string();
        let hash = pieces.next();
        let hash_is_one = hash.map_or(folder != "dropped", |hash| is_hex(hash, HASH_IN_NAME));
        let whole = hash_is_one && pieces.next().is_none();
        whole.then(|| Self { table, export, hash: hash.map(str::to_string) })
    }
}

/// Whether a text is so many hex digits, as the store writes them.
pub(in crate::store) fn is_hex(text: &str, digits: usize) -> bool {
    text.len() == digits && text.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'a'..=b'f'))
}

/// Name of what one export became: 128 bits, as hex, of everything that its parts depend on.
pub(in crate::store) fn export_id(source: &str, file: &str, hash: &str, digest: &str) -> String {
    let mut hasher = blake3::Hasher::new();
    hasher.update(&SCHEMA_VERSION.to_le_bytes());
    for text in [source, file, hash, digest] {
        hasher.update(&(text.len() as u64).to_le_bytes());
        hasher.update(text.as_bytes());
    }
    let mut id = hasher.finalize().to_hex().to_string();
    id.truncate(ID_CHARS);
    id
}
