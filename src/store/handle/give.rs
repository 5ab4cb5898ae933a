//! What an open store gives: its parts, their records, its quarantine.

use std::path::PathBuf;

use arrow::array::RecordBatch;
use chrono_tz::Tz;

use super::Store;
use crate::records::{Table, schema};
use crate::settings::{NameScope, Plan};
use crate::store::StoreError;
use crate::store::manifest::account::load_fates;
use crate::store::manifest::form::ExportEntry;
use crate::store::read::{BATCH_ROWS, Standing, open_part};
use crate::store::take::matched::{Exports, Job, find_exports};
use crate::store::take::quarantine::{Quarantined, first_rows};
use crate::store::take::unread::Refused;

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
    pub(super) export: usize,
}

/// An export that the settings name and that is there, whatever it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ExportFile {
    /// Name of the source.
    pub source: String,
    /// Path relative to the settings' folder.
    pub file: String,
    /// Where it is, if it can be read as a file.
    pub path: Option<PathBuf>,
}

impl Store {
    /// The exports that the settings name and that are there, by source; within one, files before what is none.
    ///
    /// # Errors
    /// A pattern that is none.
    pub fn exports(plan: &Plan) -> Result<Vec<ExportFile>, StoreError> {
        let Exports { jobs, refused, .. } = find_exports(plan)?;
        let files = jobs.into_iter().map(|Job { source, file, path, .. }| ExportFile {
            source: source.name.clone(),
            file,
            path: Some(path),
        });
        let others = refused.into_iter().map(|Refused { source, file, .. }| ExportFile {
            source,
            file,
            path: None,
        });
        let mut all: Vec<ExportFile> = files.chain(others).collect();
        all.sort_by(|a, b| a.source.cmp(&b.source));
        Ok(all)
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
}
