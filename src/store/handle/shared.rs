//! What workers of a cluster do with a store of which they have a share: they type exports into one of their own, and read
//! the parts that they were handed. How they settle what all of them typed is in `settling.rs`.

use std::fs;
use std::path::Path;

use super::{PartInfo, Store};
use crate::records::Table;
use crate::settings::Plan;
use crate::store::StoreError;
use crate::store::disk::durable::remove_file;
use crate::store::manifest::form::ExportEntry;
use crate::store::manifest::layout::Layout;
use crate::store::open::folder;
use crate::store::rewrite::forget::NoMore;

impl Store {
    /// Opens a new store, in a new or empty folder, whose pseudonyms are those of the key in a file of another store; who
    /// is left out there, by the list beside the key, is left out here. It is of one intake: the key does not stay in its
    /// folder, whatever becomes of whoever opened it.
    ///
    /// # Errors
    /// As [`Store::open`]; a key that is none, a list that is damaged.
    pub fn with_key(plan: &Plan, key: &Path) -> Result<Store, StoreError> {
        let secret = fs::read(key).map_err(StoreError::io(key, "read"))?;
        let beside = Layout::new(key.parent().unwrap_or(Path::new("")).to_path_buf());
        let no_more = NoMore::load(&beside)?;
        let layout = Layout::new(plan.fleet.store.clone());
        folder::put_key(&layout, &secret)?;
        let store = Self::open(plan);
        remove_file(&layout.people_key())?;
        let store = store?;
        Ok(Self { people: store.people.clone().forgetting(no_more.names), ..store })
    }

    /// Opens a folder that has a store's manifest and of its other files those that are needed here: a worker of a cluster
    /// has no more. It has no key of pseudonyms, and [`Store::take`] on it is refused.
    ///
    /// # Errors
    /// A manifest that is missing or damaged, a folder that cannot be written.
    pub fn share(plan: &Plan) -> Result<Store, StoreError> {
        let layout = Layout::new(plan.fleet.store.clone());
        let opened = folder::share(&layout)?;
        Ok(Self { to_look: true, is_share: true, ..Self::of(layout, opened)? })
    }

    /// Whether a part is at hand; always, but in a share of a store.
    pub fn holds(&self, part: &PartInfo) -> bool {
        let entry = self.manifest.exports.get(part.export);
        let entry = entry.and_then(|export| Some((export, export.part(part.table)?)));
        !self.is_share
            || entry.is_some_and(|(export, part)| export.part_file(&self.layout, part).exists())
    }

    /// Names of the files that the records of each part are read from, relative to the store's folder and with `/`: the
    /// part, and the list of its records that do not stand where there is one.
    pub fn files(&self, table: Table) -> Vec<Vec<String>> {
        let of_table = |export: &ExportEntry| {
            let part = export.part(table)?;
            let dropped = export.dropped_file(&self.layout, part);
            let files = [export.part_file(&self.layout, part)].into_iter().chain(dropped);
            Some(files.filter_map(|file| self.layout.relative(&file)).collect())
        };
        self.manifest.exports.iter().filter_map(of_table).collect()
    }

    /// The same names of the parts alone, export by export in the order of the manifest.
    pub fn parts_of_exports(&self) -> Vec<Vec<String>> {
        let of_export = |export: &ExportEntry| {
            let files = export.parts.iter().map(|part| export.part_file(&self.layout, part));
            files.filter_map(|file| self.layout.relative(&file)).collect()
        };
        self.manifest.exports.iter().map(of_export).collect()
    }

    /// Name of the manifest, relative to the store's folder.
    pub fn manifest_file(&self) -> Option<String> {
        self.layout.relative(&self.layout.manifest())
    }
}
