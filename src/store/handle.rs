//! An open store: what it takes, gives and changes.

use std::path::PathBuf;

use arrow::array::RecordBatch;
use chrono::NaiveDate;
use chrono_tz::Tz;

use super::disk::durable::remove_file;
use super::disk::lock::Lock;
use super::error::StoreError;
use super::manifest::account::{FileAccount, load_fates};
use super::manifest::form::{ExportEntry, Manifest};
use super::manifest::layout::Layout;
use super::open::folder::{self, Opened};
use super::open::people_key::Secret;
use super::open::rebuild::{Rebuilt, rebuild};
use super::open::run::{Run, sweep};
use super::progress::Progress;
use super::read::{BATCH_ROWS, Standing, open_part};
use super::rewrite::expire::Expire;
use super::rewrite::forget::{Forget, Forgotten, NoMore};
use super::rewrite::parts::{Edit, rewrite};
use super::take::export::Taker;
use super::take::matched::{Exports, Unmatched, find_exports};
use super::take::quarantine::{Quarantined, first_rows};
use super::take::stage::stage;
use super::take::unread::{Unread, unread};
use super::verify::{Damage, verify};
use crate::intake::PeopleKey;
use crate::records::{Table, schema};
use crate::settings::{NameScope, Plan};

/// What a [`Store::take`] came to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Taken {
    /// Exports that were read.
    pub read: usize,
    /// Exports of the store that those took the place of, since their map has changed.
    pub replaced: usize,
    /// Exports on disk that were in the store already.
    pub known: usize,
    /// File patterns that matched nothing, in the order of sources.
    pub unmatched: Vec<Unmatched>,
    /// Exports that could not be read, by source and file.
    pub unread: Vec<Unread>,
}

/// The records of one table from one export.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PartInfo {
    /// What its records are.
    pub table: Table,
    /// Name of the source.
    pub source: String,
    /// Place of the source among those in the store, ordered by name.
    pub source_index: usize,
    /// Path of the export relative to the settings' folder.
    pub file: String,
    /// Zone in which days of this part begin.
    pub timezone: Tz,
    /// Reach of its end-face names.
    pub scope: NameScope,
    /// Whether the side joins the key of an end face.
    pub one_name_both_sides: bool,
    /// Records that stand.
    pub rows: u64,
    export: usize,
}

/// An open store. No other process can open it meanwhile.
pub struct Store {
    layout: Layout,
    people: PeopleKey,
    manifest: Manifest,
    /// Check value of the manifest on disk.
    check: String,
    accounts: Vec<FileAccount>,
    unread: Vec<Unread>,
    /// Whether it was opened to look at it only.
    to_look: bool,
    /// Whether some of its parts may be elsewhere.
    is_share: bool,
    _lock: Option<Lock>,
}

impl Store {
    /// Opens the store of the plan's fleet, made if its folder is new or empty, and sweeps what a stopped
    /// run left. A store of the form before this one becomes one of this form.
    ///
    /// # Errors
    /// Busy, not a store, damaged, of another version, or not readable and writable; parts that no
    /// manifest names. Nothing but leftovers of a stopped run is ever removed.
    pub fn open(plan: &Plan) -> Result<Store, StoreError> {
        let layout = Layout::new(plan.fleet.store.clone());
        let opened = folder::open(&layout)?;
        Self::of(layout, opened)
    }

    /// Opens the store to look at it, for [`Store::verify`] and reading alone. Writes nothing, wherever the
    /// folder stands: [`Store::take`] on it is refused.
    ///
    /// # Errors
    /// As [`Store::open`]; a store that is not there.
    pub fn inspect(plan: &Plan) -> Result<Store, StoreError> {
        let layout = Layout::new(plan.fleet.store.clone());
        let opened = folder::inspect(&layout)?;
        Ok(Self { to_look: true, ..Self::of(layout, opened)? })
    }

    /// Makes the manifest again from what the parts say of themselves, and opens the store. What is
    /// damaged or incomplete is set aside, never removed.
    ///
    /// # Errors
    /// As [`Store::open`], but for what a manifest is missing or wrong in.
    pub fn rebuild(plan: &Plan) -> Result<(Store, Rebuilt), StoreError> {
        let layout = Layout::new(plan.fleet.store.clone());
        let (opened, rebuilt) = rebuild(&layout, plan)?;
        Ok((Self::of(layout, opened)?, rebuilt))
    }

    /// Opens a new store, in a new or empty folder, whose pseudonyms are those of this key. It is of one intake: the key
    /// does not stay in its folder, whatever becomes of whoever opened it.
    ///
    /// # Errors
    /// As [`Store::open`]; a key that is none.
    pub fn with_key(plan: &Plan, secret: &[u8]) -> Result<Store, StoreError> {
        let layout = Layout::new(plan.fleet.store.clone());
        folder::put_key(&layout, secret)?;
        let store = Self::open(plan);
        remove_file(&layout.people_key())?;
        store
    }

    /// Makes the manifest of parts that workers typed, as [`Store::rebuild`] does, in a folder that has no key: what
    /// stands in for it here makes no pseudonym.
    ///
    /// # Errors
    /// As [`Store::rebuild`].
    pub fn settled(plan: &Plan) -> Result<(Store, Rebuilt), StoreError> {
        folder::put_key(&Layout::new(plan.fleet.store.clone()), &Secret::default())?;
        Self::rebuild(plan)
    }

    /// Names of the exports that the settings name and that are there, relative to the settings' folder, in no order.
    ///
    /// # Errors
    /// A pattern that is none.
    pub fn exports(plan: &Plan) -> Result<Vec<String>, StoreError> {
        let Exports { jobs, refused, .. } = find_exports(plan)?;
        let refused = refused.into_iter().map(|refused| refused.file);
        Ok(jobs.into_iter().map(|job| job.file).chain(refused).collect())
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

    /// Name of the manifest, relative to the store's folder.
    pub fn manifest_file(&self) -> Option<String> {
        self.layout.relative(&self.layout.manifest())
    }

    fn of(layout: Layout, opened: Opened) -> Result<Self, StoreError> {
        let no_more = NoMore::load(&layout)?;
        let Opened { manifest, check, secret, lock } = opened;
        let accounts = manifest.exports.iter().map(FileAccount::of).collect();
        let people = PeopleKey::new(secret).forgetting(no_more.names);
        Ok(Store {
            layout,
            people,
            manifest,
            check,
            accounts,
            unread: Vec::new(),
            to_look: false,
            is_share: false,
            _lock: lock,
        })
    }

    /// Brings every export that the plan names into the store. One that cannot be read is named in what
    /// is returned, none of its rows is taken, what the store has from it stays in force, and the rest
    /// goes on; where the plan is strict that is an error. On any error nothing is taken at all.
    ///
    /// `today` is the day (UTC) kept as that of the last intake, if this brings records: see [`today`].
    ///
    /// # Errors
    /// A full or failing disk, damage in parts that must be settled anew, a map that cannot be followed;
    /// if the plan is strict, an export that cannot be read.
    pub fn take(
        &mut self,
        plan: &Plan,
        today: NaiveDate,
        progress: &dyn Progress,
    ) -> Result<Taken, StoreError> {
        self.refuse_if_to_look()?;
        let Exports { jobs, mut refused, unmatched } = find_exports(plan)?;
        if plan.rules.strict && !refused.is_empty() {
            return Err(refused.swap_remove(0).error);
        }
        let refused_unseen = refused.len();
        progress.expect(jobs.iter().map(|job| job.length).sum());
        let run = Run::new(&self.layout, &self.check, progress)?;
        let taker = Taker {
            layout: &self.layout,
            run: &run,
            plan,
            people: &self.people,
            manifest: &self.manifest,
            today,
            progress,
        };
        // The first error is the one to tell; what cannot be swept now is swept at the next opening.
        let tidy = |_: &StoreError| drop(sweep(&self.layout, &()));
        let staged = stage(&taker, &jobs, &mut refused).inspect_err(tidy);
        let staged = staged.map_err(|error| self.with_export(error))?;
        let known = jobs.len() + refused_unseen - refused.len();
        let unread = unread(&refused, &self.manifest);
        let mut taken = Taken { known, unmatched, unread: unread.clone(), ..Taken::default() };
        if let Some(staged) = staged {
            taken.known -= staged.new;
            taken.read = staged.new;
            taken.replaced = staged.replaced;
            let ended = run.end(&self.manifest, &staged.manifest);
            self.check = ended.inspect_err(tidy)?;
            self.manifest = staged.manifest;
            self.accounts = self.manifest.exports.iter().map(FileAccount::of).collect();
            sweep(&self.layout, progress)?;
        } else if !unread.is_empty() {
            // What one of them left half-done.
            sweep(&self.layout, progress)?;
        }
        if let Some(mut expire) = Expire::of(plan, today) {
            self.rewrite(plan, &mut expire, progress)?;
        }
        self.unread = unread;
        Ok(taken)
    }

    /// The exports that the last [`Store::take`] could not read, by source and file.
    pub fn unread(&self) -> &[Unread] {
        &self.unread
    }

    fn refuse_if_to_look(&self) -> Result<(), StoreError> {
        if self.to_look {
            let path = self.layout.root().to_path_buf();
            return Err(StoreError::NotToChange { path });
        }
        Ok(())
    }

    /// Damage in what a run settles, with the export that it is in.
    fn with_export(&self, error: StoreError) -> StoreError {
        let StoreError::Damaged { path, .. } = &error else { return error };
        let of = |export: &&ExportEntry| export.files(&self.layout).contains(path);
        match self.manifest.exports.iter().find(of) {
            Some(export) => error.of_export(&export.source, &export.file),
            None => error,
        }
    }

    /// What became of each export, ordered by source, file, hash. Sums were checked on opening.
    pub fn accounts(&self) -> &[FileAccount] {
        &self.accounts
    }

    /// The first quarantined rows, at most `most`, ordered by source, file, line.
    pub fn quarantine(&self, most: usize) -> Result<Vec<Quarantined>, StoreError> {
        let mut rows = Vec::new();
        for export in &self.manifest.exports {
            if rows.len() >= most {
                break;
            }
            if let Some((path, hash)) = export.quarantine_file(&self.layout) {
                let first = first_rows(&path, hash, most - rows.len());
                rows.extend(first.map_err(|error| error.of_export(&export.source, &export.file))?);
            }
        }
        Ok(rows)
    }

    /// The parts of a table, ordered by source, file, hash.
    pub fn parts(&self, table: Table) -> Vec<PartInfo> {
        let mut sources: Vec<&str> =
            self.manifest.exports.iter().map(|export| export.source.as_str()).collect();
        sources.dedup();
        let info = |(at, export): (usize, &ExportEntry)| {
            let part = export.part(table)?;
            Some(PartInfo {
                table,
                source: export.source.clone(),
                source_index: sources.binary_search(&export.source.as_str()).ok()?,
                file: export.file.clone(),
                timezone: export.timezone,
                scope: export.end_face_names,
                one_name_both_sides: export.one_name_both_sides,
                rows: part.standing(),
                export: at,
            })
        };
        self.manifest.exports.iter().enumerate().filter_map(info).collect()
    }

    /// The standing records of a part, in batches of at most 65,536, with these columns in the order
    /// of the schema (no names: all). Codes stay dictionaries. `part` must come from this store's
    /// [`Store::parts`] after the last [`Store::take`]; of a part that is gone, nothing is read.
    ///
    /// # Errors
    /// A column that the table does not have; damage.
    pub fn read(
        &self,
        part: &PartInfo,
        columns: &[&str],
    ) -> Result<impl Iterator<Item = Result<RecordBatch, StoreError>> + Send + use<>, StoreError>
    {
        let schema = schema(part.table);
        if let Some(column) = columns.iter().find(|name| schema.index_of(name).is_err()) {
            let column = (*column).to_string();
            return Err(StoreError::NoColumn { table: part.table.name(), column });
        }
        let Some(export) = self.manifest.exports.get(part.export) else {
            return Ok(None::<Standing>.into_iter().flatten());
        };
        let standing = export.part(part.table).map(|entry| {
            let fates = load_fates(&self.layout, export, entry)?;
            let path = export.part_file(&self.layout, entry);
            let opened = open_part(&path, &schema, &entry.sums)?;
            let whence = (export.source.clone(), export.file.clone());
            Ok(Standing::new(opened.batches_of_given(columns, BATCH_ROWS)?, fates, whence))
        });
        let of_export = |error: StoreError| error.of_export(&export.source, &export.file);
        Ok(standing.transpose().map_err(of_export)?.into_iter().flatten())
    }

    /// Day (UTC) of the last intake that brought records; none before the first that did.
    pub fn last_intake_day(&self) -> Option<NaiveDate> {
        self.manifest.last_intake()
    }

    /// Compares every file with its hash and its counts, and counts all rows again.
    ///
    /// # Errors
    /// Only where the store's folders cannot be listed; what is wrong inside is in the result.
    pub fn verify(&self) -> Result<Vec<Damage>, StoreError> {
        verify(&self.layout, &self.manifest)
    }

    /// Folder for a [`Spill`]; whatever is left in it is swept at the next opening.
    pub fn work_folder(&self) -> PathBuf {
        self.layout.work()
    }

    /// Cuts people out of the store, by the names that the exports give them: their pseudonyms, whatever
    /// of the names stands in other cells, and the way back, since no later intake gives these names a
    /// pseudonym. Stopped before it has ended, it is to be called again.
    ///
    /// # Errors
    /// A full or failing disk, damage in any part.
    pub fn forget(
        &mut self,
        plan: &Plan,
        names: &[String],
        progress: &dyn Progress,
    ) -> Result<Forgotten, StoreError> {
        self.refuse_if_to_look()?;
        let mut no_more = NoMore::load(&self.layout)?;
        no_more.add(&self.layout, &self.people, names)?;
        let mut forget = Forget::of(&self.people, names);
        self.rewrite(plan, &mut forget, progress)?;
        self.people = self.people.clone().forgetting(no_more.names);
        Ok(forget.done)
    }

    /// Writes anew what an edit changes: in every export or, on any error, in none. What the files held is
    /// gone from the store's folder afterwards, though not from the free space of the disk.
    pub(in crate::store) fn rewrite(
        &mut self,
        plan: &Plan,
        edit: &mut dyn Edit,
        progress: &dyn Progress,
    ) -> Result<(), StoreError> {
        let run = Run::new(&self.layout, &self.check, progress)?;
        let tidy = |_: &StoreError| drop(sweep(&self.layout, &()));
        let next = rewrite(&self.layout, &run, plan, &self.manifest, edit);
        if let Some(next) = next.inspect_err(tidy)? {
            self.check = run.end(&self.manifest, &next).inspect_err(tidy)?;
            self.manifest = next;
            self.accounts = self.manifest.exports.iter().map(FileAccount::of).collect();
            sweep(&self.layout, progress)?;
        }
        Ok(())
    }
}
