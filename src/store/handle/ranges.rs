//! What workers of a cluster do with ranges of exports: they say where one may be cut, type a range, and make the export
//! of its ranges.

use std::path::{Path, PathBuf};

use chrono::NaiveDate;

use super::Store;
use crate::intake::Range;
use crate::settings::Plan;
use crate::store::StoreError;
use crate::store::handle::settling::json;
use crate::store::open::run::Run;
use crate::store::progress::Progress;
use crate::store::take::export::Taker;
use crate::store::take::matched::{Job, find_exports};
use crate::store::take::ranges::{Cut, RangeFiles, TypedRange, cut};

/// An export in ranges.
pub struct Ranged {
    /// Path relative to the settings' folder.
    pub file: String,
    /// BLAKE3 of its bytes, hex.
    pub hash: String,
    /// Bytes up to the end of its header.
    pub head: u64,
    /// The ranges, at least two, in order.
    pub ranges: Vec<Range>,
}

/// An export made of its ranges.
pub struct Bound {
    /// What became of it, as JSON.
    pub entry: Vec<u8>,
    /// Its files, by their names relative to the store's folder.
    pub files: Vec<(String, PathBuf)>,
}

impl Store {
    /// How the exports that are there can be cut into ranges of at least so many bytes; those that cannot, and those that
    /// several sources read, are left out.
    ///
    /// # Errors
    /// A pattern that is none, a file that cannot be read.
    pub fn cut(plan: &Plan, every: u64) -> Result<Vec<Ranged>, StoreError> {
        let exports = find_exports(plan)?;
        let mut ranged = Vec::new();
        for job in &exports.jobs {
            let readers = exports.jobs.iter().filter(|other| other.file == job.file).count();
            if readers > 1 || job.length <= every {
                continue;
            }
            if let Some(Cut { cuts, hash }) = cut(job, every)? {
                let file = job.file.clone();
                ranged.push(Ranged { file, hash, head: cuts.head, ranges: cuts.ranges });
            }
        }
        Ok(ranged)
    }

    /// Types a range of an export, of which an empty file may stand in its place: `text` is the file's head and the range.
    /// Its files are in the work folder, `number` telling them from those of other ranges. None where the export is to be
    /// read whole.
    ///
    /// # Errors
    /// As [`Store::take`].
    pub fn type_range(
        &self,
        plan: &Plan,
        file: &str,
        (number, range): (usize, &Range),
        text: &Path,
        progress: &dyn Progress,
    ) -> Result<Option<(TypedRange, RangeFiles)>, StoreError> {
        // The day is that of whoever makes the export of its ranges.
        self.taking(plan, (file, NaiveDate::default(), progress), |taker, job| {
            taker.type_range(job, (number, range), text)
        })
    }

    /// Makes an export of its ranges, of which an empty file may stand in its place. None where it is to be read whole.
    ///
    /// # Errors
    /// A full disk; ranges that do not add up.
    pub fn bind(
        &self,
        plan: &Plan,
        (file, hash, today): (&str, &str, NaiveDate),
        ranges: &[TypedRange],
        of_range: &dyn Fn(usize, &str) -> PathBuf,
    ) -> Result<Option<Bound>, StoreError> {
        self.taking(plan, (file, today, &()), |taker, job| {
            let bound = taker.bind(job, hash.to_owned(), ranges, of_range)?;
            let Some((entry, files)) = bound else { return Ok(None) };
            let named =
                |(place, path): (PathBuf, PathBuf)| Some((self.layout.relative(&place)?, path));
            let files = files.into_iter().filter_map(named).collect();
            Ok(Some(Bound { entry: json(&entry)?, files }))
        })
    }

    /// What `work` makes of an export that a source reads; none where no source does.
    fn taking<T>(
        &self,
        plan: &Plan,
        (file, today, progress): (&str, NaiveDate, &dyn Progress),
        work: impl FnOnce(&Taker, &Job) -> Result<Option<T>, StoreError>,
    ) -> Result<Option<T>, StoreError> {
        let exports = find_exports(plan)?;
        let Some(job) = exports.jobs.iter().find(|job| job.file == file) else { return Ok(None) };
        let run = Run::new(&self.layout, &self.check, progress)?;
        work(&self.taker((plan, &run), today, progress), job)
    }
}
