//! An open store: how it is opened, and what it tells of itself. What changes it, what it gives, and what workers of a
//! cluster do with theirs have files of their own.

mod change;
mod give;
mod ranges;
mod settling;
mod shared;

pub use change::Taken;
pub use give::{ExportFile, PartInfo};
pub use ranges::{Bound, Ranged};
pub use settling::{SharedClaim, Verdict};

use std::path::PathBuf;

use chrono::NaiveDate;

use crate::intake::PeopleKey;
use crate::settings::Plan;
use crate::store::StoreError;
use crate::store::disk::lock::Lock;
use crate::store::manifest::account::FileAccount;
use crate::store::manifest::form::Manifest;
use crate::store::manifest::layout::Layout;
use crate::store::open::folder::{self, Opened};
use crate::store::open::rebuild::{Rebuilt, rebuild};
use crate::store::open::run::Run;
use crate::store::progress::Progress;
use crate::store::rewrite::forget::NoMore;
use crate::store::take::export::Taker;
use crate::store::take::unread::Unread;
use crate::store::verify::{Damage, verify};

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
    /// What reads exports of the plan for this store in one run, on this day (UTC).
    fn taker<'a>(
        &'a self,
        plan: &'a Plan,
        run: &'a Run<'a>,
        today: NaiveDate,
        progress: &'a dyn Progress,
    ) -> Taker<'a> {
        let Store { layout, people, manifest, .. } = self;
        Taker { layout, run, plan, people, manifest, today, progress }
    }

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

    /// What became of each export, ordered by source, file, hash. Sums were checked on opening.
    pub fn accounts(&self) -> &[FileAccount] {
        &self.accounts
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

    /// Folder for a [`Spill`](crate::store::Spill); whatever is left in it is swept at the next opening.
    pub fn work_folder(&self) -> PathBuf {
        self.layout.work()
    }
}
