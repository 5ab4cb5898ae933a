//! Names of a bounded set of end faces. Keys are hashes: the names are read from the store once
//! more, and only as far as it takes to find them all.
//!
//! Shown is a written form, which is what stands on labels and in exports, not what rules of spelling make of it: that
//! of the register, else of a mating, a look or a cleaning; of several, that of the first source by name, of its several
//! the first in the order of letters.

use std::borrow::Cow;
use std::collections::hash_map::Entry;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use arrow::array::RecordBatch;
use rustc_hash::{FxHashMap, FxHashSet};
use serde::{Deserialize, Serialize};

use crate::derive::DeriveError;
use crate::derive::scan::columns::{Coded, Texts, Words, fixed};
use crate::derive::scan::key::{Key, Keys, Naming};
use crate::intake::Spellings;
use crate::records::{Side, Table, face_columns};
use crate::settings::NameScope;
use crate::store::{PartInfo, Store};

/// What an end face is called.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct FaceName {
    /// A name as recorded.
    pub name: String,
    /// Where the name is the site's own: the site.
    pub site: Option<String>,
    /// Where one name stands for both sides of an adapter: the side.
    pub side: Option<Cow<'static, str>>,
}

impl std::fmt::Display for FaceName {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.name)?;
        match (&self.side, &self.site) {
            (Some(side), Some(site)) => write!(f, " ({side}, {site})"),
            (Some(word), None) => write!(f, " ({word})"),
            (None, Some(word)) => write!(f, " ({word})"),
            (None, None) => Ok(()),
        }
    }
}

/// Names by key.
pub type FaceNames = FxHashMap<Key, FaceName>;

/// The names of the end faces wanted, as far as any record has them, with what decides which written form is shown: of two
/// stores that are shares of one, the least.
///
/// # Errors
/// Whatever the store reports.
pub fn written_names(
    store: &Store,
    spellings: &Spellings,
    wanted: &FxHashSet<Key>,
    threads: usize,
) -> Result<FxHashMap<Key, Written>, DeriveError> {
    // The register is short, and what has touched anything stands in the matings.
    let tables = [Table::EndFaces, Table::Matings, Table::Inspections, Table::Cleanings];
    let mut found: FxHashMap<Key, Written> = FxHashMap::default();
    for (rank, table) in (0..).zip(tables) {
        if found.len() < wanted.len() {
            let missing = wanted.iter().filter(|key| !found.contains_key(key)).copied().collect();
            let more = in_table(store, table, spellings, &missing, threads)?.into_iter();
            found.extend(more.map(|(key, (source, name))| (key, (rank, source, name))));
        }
    }
    Ok(found)
}

/// A written form, the rank of its table and the place of its source by name: the least is the one that is shown.
pub type Written = (u8, usize, FaceName);
/// The same within one table.
type InTable = (usize, FaceName);

/// Reads the parts of one table, several threads at a time.
fn in_table(
    store: &Store,
    table: Table,
    spellings: &Spellings,
    wanted: &FxHashSet<Key>,
    threads: usize,
) -> Result<FxHashMap<Key, InTable>, DeriveError> {
    let mut parts = store.parts(table);
    parts.retain(|part| store.holds(part));
    let next = AtomicUsize::new(0);
    let found: Mutex<FxHashMap<Key, InTable>> = Mutex::new(FxHashMap::default());
    // Where names stay as they are written a key has one name, and it does not matter who comes first.
    let first_will_do = spellings.are_plain();
    std::thread::scope(|scope| {
        let work = || {
            let mut keys = Keys::default();
            while let Some(part) = parts.get(next.fetch_add(1, Ordering::Relaxed)) {
                let naming = Naming::of(part, spellings);
                let columns: Vec<&str> =
                    face_columns(table).iter().flatten().copied().chain(["site"]).collect();
                for batch in store.read(part, &columns)? {
                    let own = in_batch(&batch?, part, naming, wanted, &mut keys)?;
                    let mut found = found.lock().map_err(|_| DeriveError::Thread)?;
                    for (key, name) in own {
                        let name = (part.source_index, name);
                        match found.entry(key) {
                            Entry::Vacant(empty) => drop(empty.insert(name)),
                            Entry::Occupied(mut known) if name < *known.get() => {
                                known.insert(name);
                            }
                            Entry::Occupied(_) => {}
                        }
                    }
                    if first_will_do && found.len() == wanted.len() {
                        return Ok(());
                    }
                }
            }
            Ok(())
        };
        let threads: Vec<_> = (0..threads.max(1)).map(|_| scope.spawn(work)).collect();
        threads.into_iter().try_for_each(|thread| thread.join().unwrap_or(Err(DeriveError::Thread)))
    })?;
    found.into_inner().map_err(|_| DeriveError::Thread)
}

fn in_batch(
    batch: &RecordBatch,
    part: &PartInfo,
    naming: Naming,
    wanted: &FxHashSet<Key>,
    keys: &mut Keys,
) -> Result<FaceNames, DeriveError> {
    let site = Words::of(batch, "site")?;
    let mut found = FaceNames::default();
    for [name, side] in face_columns(part.table) {
        let names = Texts::of(batch, name)?;
        let sides: Coded = fixed(batch, side, Side::WORDS)?;
        for row in 0..batch.num_rows() {
            let side = sides.get(row);
            let written = names.get(row);
            let key = keys.end_face(naming, written, site.get(row), side as u8);
            if !wanted.contains(&key)
                || found.get(&key).is_some_and(|known| *known.name <= *written)
            {
                continue;
            }
            let side = (side as usize).checked_sub(1).and_then(|at| Side::WORDS.get(at).copied());
            let own_site = naming.scope == NameScope::Site;
            let called = FaceName {
                name: written.to_owned(),
                site: own_site.then(|| site.get(row).to_owned()),
                side: side.filter(|_| naming.one_name_both_sides).map(Cow::Borrowed),
            };
            found.insert(key, called);
        }
    }
    Ok(found)
}
