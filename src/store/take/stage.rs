//! From the files on disk to the next manifest: reads what is new, and has settled what that touches. Nothing here
//! changes what the store is; the manifest does.

use std::collections::BTreeSet;

use rayon::prelude::*;

use crate::intake::ROOM_MIB;

use super::export::{Outcome, Taker};
use super::matched::Job;
use super::unread::Refused;
use crate::store::StoreError;
use crate::store::manifest::form::{ExportEntry, Manifest};
use crate::store::settle::again::{Group, complete_now, groups_of, settle_again};

/// The manifest that follows, with how many exports were new and how many took another's place.
pub(in crate::store) struct Staged {
    pub manifest: Manifest,
    pub new: usize,
    pub replaced: usize,
}

/// Reads the jobs; none if nothing is new. What cannot be read is put to `refused` and the rest goes
/// on, unless the settings are strict.
pub(in crate::store) fn stage(
    taker: &Taker,
    jobs: &[Job],
    refused: &mut Vec<Refused>,
) -> Result<Option<Staged>, StoreError> {
    // Settling a table takes no more than reading an export.
    let most = taker.plan.rules.memory_mib / ROOM_MIB;
    let threads = rayon::current_num_threads().min(most.max(1) as usize);
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().map_err(|error| {
        let source = std::io::Error::other(error);
        StoreError::io(taker.layout.root(), "start threads for")(source)
    })?;
    pool.install(|| {
        let taken: Vec<Result<Outcome, StoreError>> =
            jobs.par_iter().enumerate().map(|(number, job)| taker.take(job, number)).collect();
        let mut new = Vec::new();
        // All have ended before the first error in the order of files is reported, whoever met it first.
        for (outcome, job) in taken.into_iter().zip(jobs) {
            match outcome {
                Ok(Outcome::Read(entry)) => new.push(*entry),
                Ok(Outcome::Known) => {}
                Err(error) if error.is_of_export() && !taker.plan.rules.strict => {
                    let (source, file) = (job.source.name.clone(), job.file.clone());
                    refused.push(Refused { source, file, error });
                }
                Err(error) => return Err(error),
            }
        }
        merge(taker, new)
    })
}

/// What must be settled anew although no export is: the settings now say something else of what
/// its exports hold.
fn restated(taker: &Taker) -> BTreeSet<Group> {
    let mut groups = BTreeSet::new();
    for export in &taker.manifest.exports {
        for part in &export.parts {
            let group = (export.source.clone(), part.table);
            if complete_now(taker.plan, &group).is_some_and(|now| now != part.complete) {
                groups.insert(group);
            }
        }
    }
    groups
}

/// Joins the new exports to the old ones; none where nothing has changed.
fn merge(taker: &Taker, new: Vec<ExportEntry>) -> Result<Option<Staged>, StoreError> {
    let mut touched = restated(taker);
    touched.extend(new.iter().flat_map(groups_of));
    let mut manifest = taker.manifest.clone();
    let is_known =
        |new: &ExportEntry, old: &ExportEntry| old.key() == new.key() && old.digest == new.digest;
    // Bytes that are back under their name are read again to become its latest version, and are known.
    let unknown = |new: &&ExportEntry| !manifest.exports.iter().any(|old| is_known(new, old));
    let count = new.iter().filter(unknown).count();
    let mut replaced = 0;
    manifest.exports.retain(|old| {
        let Some(successor) = new.iter().find(|new| replaces(new, old)) else { return true };
        replaced += usize::from(!is_known(successor, old));
        touched.extend(groups_of(old));
        false
    });
    let is_same = touched.is_empty() && new.is_empty();
    manifest.exports.extend(new);
    manifest.exports.sort_by(|a, b| a.key().cmp(&b.key()));
    if is_same {
        return Ok(None);
    }
    settle_again(taker.layout, taker.run, taker.plan, &mut manifest, &touched)?;
    Ok(Some(Staged { manifest, new: count, replaced }))
}

/// Whether an export takes another's place: the same bytes of the same source, read by newer settings
/// under whatever name, or under the same name while the file was changing.
pub(in crate::store) fn replaces(new: &ExportEntry, old: &ExportEntry) -> bool {
    let same_bytes = new.source == old.source && new.hash == old.hash;
    same_bytes && (new.digest != old.digest || new.file == old.file)
}
