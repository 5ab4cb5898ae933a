//! What changes an open store: taking exports in, forgetting people, dropping what is too old.

use chrono::NaiveDate;

use super::Store;
use crate::settings::Plan;
use crate::store::StoreError;
use crate::store::manifest::account::FileAccount;
use crate::store::manifest::form::ExportEntry;
use crate::store::open::run::{Run, sweep};
use crate::store::progress::Progress;
use crate::store::rewrite::expire::Expire;
use crate::store::rewrite::forget::{Forget, Forgotten, NoMore};
use crate::store::rewrite::parts::{Edit, rewrite};
use crate::store::take::export::Taker;
use crate::store::take::matched::{Exports, Unmatched, find_exports};
use crate::store::take::stage::stage;
use crate::store::take::unread::{Unread, unread};

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

impl Store {
    /// Brings every export that the plan names into the store. One that cannot be read is named in what
    /// is returned, none of its rows is taken, what the store has from it stays in force, and the rest
    /// goes on; where the plan is strict that is an error. On any error nothing is taken at all.
    ///
    /// `today` is the day (UTC) kept as that of the last intake, if this brings records: see [`today`](crate::store::today).
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
        let taker = self.taker((plan, &run), today, progress);
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

    /// Who takes exports in this run.
    pub(super) fn taker<'a>(
        &'a self,
        (plan, run): (&'a Plan, &'a Run<'a>),
        today: NaiveDate,
        progress: &'a dyn Progress,
    ) -> Taker<'a> {
        let Store { layout, people, manifest, .. } = self;
        Taker { layout, run, plan, people, manifest, today, progress }
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
