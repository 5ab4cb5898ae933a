//! Names of a bounded set of end faces. Keys are hashes: the names are read from the store once
//! more, and only as far as it takes to find them all.
//!
//! Shown is a written form, which is what stands on labels and in exports, not what rules of spelling make of it: that
//! of the register, else of a mating, a look or a cleaning; of several, that of the first source by name, of its several
//! the first in the order of letters.

use std::collections::hash_map::Entry;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use arrow::array::RecordBatch;
use rustc_hash::{FxHashMap, FxHashSet};

use crate::derive::DeriveError;
use crate::derive::scan::columns::{Coded, Texts, Words, fixed};
use crate::derive::scan::key::{Key, Keys, Naming};
use crate::intake::Spellings;
use crate::records::{Side, Table};
use crate::settings::NameScope;
use crate::store::{PartInfo, Store};

/// What an end face is called.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct FaceName {
    /// A name as recorded.
    pub name: String,
    /// Where the name is the site's own: the site.
    pub site: Option<String>,
    /// Where one name stands for both sides of an adapter: the side.
    pub side: Option<&'static str>,
}

impl std::fmt::Display for FaceName {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.name)?;
        match (self.side, &self.site) {
            (Some(side), Some(site)) => write!(f, " ({side}, {site})"),
            (Some(word), None) => write!(f, " ({word})"),
            (None, Some(word)) => write!(f, " ({word})"),
            (None, None) => Ok(()),
        }
    }
}

/// Names by key.
pub type FaceNames = FxHashMap<Key, FaceName>;

/// Columns of a table that name end faces, each with that of its side.
fn naming_columns(table: Table) -> &'static [[&'static str; 2]] {
    match table {
        Table::Matings => &[["end_face_a", "side_a"], ["end_face_b", "side_b"]],
        Table::EndFaces | Table::Inspections | Table::Cleanings => &[["end_face", "side"]],
        Table::Faults => &[],
    }
}

/// The names of the end faces wanted, as far as any record has them.
///
/// # Errors
/// Whatever the store reports.
pub fn face_names(
    store: &Store,
    spellings: &Spellings,
    wanted: &FxHashSet<Key>,
    threads: usize,
) -> Result<FaceNames, DeriveError> {
    // The register is short, and what has touched anything stands in the matings.
    let tables = [Table::EndFaces, Table::Matings, Table::Inspections, Table::Cleanings];
    let mut found = FaceNames::default();
    for table in tables {
        if found.len() < wanted.len() {
            let missing = wanted.iter().filter(|key| !found.contains_key(key)).copied().collect();
            found.extend(in_table(store, table, spellings, &missing, threads)?);
        }
    }
    Ok(found)
}

/// A written form, and the place of its source by name: the least is the one that is shown.
type Written = (usize, FaceName);

/// Reads the parts of one table, several threads at a time.
fn in_table(
    store: &Store,
    table: Table,
    spellings: &Spellings,
    wanted: &FxHashSet<Key>,
    threads: usize,
) -> Result<FaceNames, DeriveError> {
    let parts = store.parts(table);
    let next = AtomicUsize::new(0);
    let found: Mutex<FxHashMap<Key, Written>> = Mutex::new(FxHashMap::default());
    // Where names stay as they are written a key has one name, and it does not matter who comes first.
    let first_will_do = spellings.are_plain();
    std::thread::scope(|scope| {
        let work = || {
            let mut keys = Keys::default();
            while let Some(part) = parts.get(next.fetch_add(1, Ordering::Relaxed)) {
                let naming = Naming::of(part, spellings);
                let columns: Vec<&str> =
                    naming_columns(table).iter().flatten().copied().chain(["site"]).collect();
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
    let found = found.into_inner().map_err(|_| DeriveError::Thread)?;
    Ok(found.into_iter().map(|(key, (_, name))| (key, name)).collect())
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
    for [name, side] in naming_columns(part.table) {
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
                side: side.filter(|_| naming.one_name_both_sides),
            };
            found.insert(key, called);
        }
    }
    Ok(found)
}
