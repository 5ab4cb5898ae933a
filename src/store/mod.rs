//! The store: a folder of Parquet parts with a manifest, and the rules of which record stands.
//!
//! Promises: every row of every export is accounted for; the same export again adds nothing; a later
//! export of a source supersedes an earlier one (R1); a run stopped anywhere leaves the store as it
//! was; the same exports give the same bytes, in whatever order and by however many threads they were
//! taken (but for the key of the pseudonyms and the days of intake); memory does not grow with
//! the number of records except for two bits each while a table is settled.
//!
//! Stops at records as they were exported: joins, visits and whatever else is made of them is not here.
//! An export that is no longer on disk stays in the store.

mod disk;
mod error;
mod manifest;
mod open;
mod read;
mod rewrite;
mod settle;
mod take;
mod verify;

use std::path::PathBuf;

use arrow::array::RecordBatch;
use chrono::NaiveDate;
use chrono_tz::Tz;

use crate::intake::PeopleKey;
use crate::records::{Table, schema};
use crate::settings::{NameScope, Plan};

pub use disk::clock::{day_of, today};
pub use disk::spill::{Buckets, Spill};
pub use error::StoreError;
pub use manifest::account::{FileAccount, RowAccount};
pub use manifest::form::{Example, Reason};
pub use open::rebuild::{Rebuilt, SetAside};
pub use rewrite::expire::Expired;
pub use rewrite::forget::Forgotten;
pub use take::matched::Unmatched;
pub use take::quarantine::Quarantined;
pub use take::unread::Unread;
pub use verify::Damage;

use disk::lock::Lock;
use manifest::form::Manifest;
use manifest::layout::Layout;
use open::folder::Opened;

/// Hears how far the reading of exports is, and of every durable step. Called from several threads.
pub trait Progress: Sync {
    /// So many bytes will be read in all.
    fn expect(&self, bytes: u64);
    /// So many more bytes have been read.
    fn passed(&self, bytes: u64);
    /// The next step changes the disk: see `open/run.rs`. A run may be stopped before any of them.
    fn step(&self, _what: &str) {}
}

/// Nobody listens.
impl Progress for () {
    fn expect(&self, _: u64) {}
    fn passed(&self, _: u64) {}
}

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
        let opened = open::folder::open(&layout)?;
        Self::of(layout, opened)
    }

    /// Opens the store to look at it, for [`Store::verify`] and reading alone. Writes nothing, wherever the
    /// folder stands: [`Store::take`] on it is refused.
    ///
    /// # Errors
    /// As [`Store::open`]; a store that is not there.
    pub fn inspect(plan: &Plan) -> Result<Store, StoreError> {
        let layout = Layout::new(plan.fleet.store.clone());
        let opened = open::folder::inspect(&layout)?;
        Ok(Self { to_look: true, ..Self::of(layout, opened)? })
    }

    /// Makes the manifest again from what the parts say of themselves, and opens the store. What is
    /// damaged or incomplete is set aside, never removed.
    ///
    /// # Errors
    /// As [`Store::open`], but for what a manifest is missing or wrong in.
    pub fn rebuild(plan: &Plan) -> Result<(Store, Rebuilt), StoreError> {
        let layout = Layout::new(plan.fleet.store.clone());
        let (opened, rebuilt) = open::rebuild::rebuild(&layout, plan)?;
        Ok((Self::of(layout, opened)?, rebuilt))
    }

    fn of(layout: Layout, opened: Opened) -> Result<Self, StoreError> {
        let no_more = rewrite::forget::NoMore::load(&layout)?;
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
        let take::matched::Exports { jobs, mut refused, unmatched } =
            take::matched::find_exports(plan)?;
        if plan.rules.strict && !refused.is_empty() {
            return Err(refused.swap_remove(0).error);
        }
        let refused_unseen = refused.len();
        progress.expect(jobs.iter().map(|job| job.length).sum());
        let run = open::run::Run::new(&self.layout, &self.check, progress)?;
        let taker = take::export::Taker {
            layout: &self.layout,
            run: &run,
            plan,
            people: &self.people,
            manifest: &self.manifest,
            today,
            progress,
        };
        // The first error is the one to tell; what cannot be swept now is swept at the next opening.
        let tidy = |_: &StoreError| drop(open::run::sweep(&self.layout, &()));
        let staged = take::stage::stage(&taker, &jobs, &mut refused).inspect_err(tidy);
        let staged = staged.map_err(|error| self.with_export(error))?;
        let known = jobs.len() + refused_unseen - refused.len();
        let unread = take::unread::unread(&refused, &self.manifest);
        let mut taken = Taken { known, unmatched, unread: unread.clone(), ..Taken::default() };
        if let Some(staged) = staged {
            taken.known -= staged.new;
            taken.read = staged.new;
            taken.replaced = staged.replaced;
            let ended = run.end(&self.manifest, &staged.manifest);
            self.check = ended.inspect_err(tidy)?;
            self.manifest = staged.manifest;
            self.accounts = self.manifest.exports.iter().map(FileAccount::of).collect();
            open::run::sweep(&self.layout, progress)?;
        } else if !unread.is_empty() {
            // What one of them left half-done.
            open::run::sweep(&self.layout, progress)?;
        }
        if let Some(mut expire) = rewrite::expire::Expire::of(plan, today) {
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
        let of = |export: &&manifest::form::ExportEntry| export.files(&self.layout).contains(path);
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
                let first = take::quarantine::first_rows(&path, hash, most - rows.len());
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
        let info = |(at, export): (usize, &manifest::form::ExportEntry)| {
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
            return Ok(None::<read::Standing>.into_iter().flatten());
        };
        let standing = export.part(part.table).map(|entry| {
            let fates = manifest::account::load_fates(&self.layout, export, entry)?;
            let path = export.part_file(&self.layout, entry);
            let opened = read::open_part(&path, &schema, &entry.sums)?;
            let whence = (export.source.clone(), export.file.clone());
            Ok(read::Standing::new(opened.batches(columns, read::BATCH_ROWS)?, fates, whence))
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
        verify::verify(&self.layout, &self.manifest)
    }

    /// Folder for a [`Spill`]; whatever is left in it is swept at the next opening.
    pub fn work_folder(&self) -> PathBuf {
        self.layout.work()
    }
}
