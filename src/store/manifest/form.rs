//! The manifest: which exports are in the store, what became of them, and every hash.
//!
//! It is the one truth, and carries a check value of itself. It changes by one rename, last.

use std::collections::BTreeSet;
use std::io;
use std::io::Write;
use std::path::{Path, PathBuf};

use chrono::NaiveDate;
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};

use super::layout::{Layout, export_id, is_hex};
use super::sealed::{HASH_CHARS, Sealed, seal};
use super::written;
use crate::intake::LostCells;
use crate::records::{SCHEMA_VERSION, Table};
use crate::settings::NameScope;
use crate::store::disk::checked::Sums;
use crate::store::disk::durable::{HashedFile, rename, sync_folder};
use crate::store::settle::complete::Complete;
use crate::store::settle::fates::Dropped;
use crate::store::{Expired, RowAccount, StoreError};

/// Version of the manifest's own form.
pub(in crate::store) const MANIFEST_VERSION: u32 = 3;

/// What is in the store.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::store) struct Manifest {
    pub version: u32,
    /// Version of the canonical schemas that every part was written with.
    pub records_version: u32,
    /// Ordered by source, file, hash; these three are unique.
    pub exports: Vec<ExportEntry>,
}

/// One export that was taken.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::store) struct ExportEntry {
    pub source: String,
    /// Path relative to the settings' folder.
    pub file: String,
    /// BLAKE3 of the file's bytes, hex.
    pub hash: String,
    /// Of exports with one name, the higher is the later: 0, unless the file was written anew.
    pub version: u32,
    /// BLAKE3 of the settings that its records depend on, hex.
    pub digest: String,
    #[serde(with = "written::timezone")]
    pub timezone: Tz,
    #[serde(with = "written::scope")]
    pub end_face_names: NameScope,
    pub one_name_both_sides: bool,
    /// Day (UTC) on which its bytes were first taken.
    #[serde(default, with = "written::day")]
    pub taken: Option<NaiveDate>,
    /// How often its parts were written anew after they were taken: see [`crate::store::handle::Store::rewrite`].
    #[serde(default, skip_serializing_if = "is_zero")]
    pub edition: u32,
    /// Whether its files have the names of format 2 of the store, without their hashes.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub plain_names: bool,
    pub rows: RowAccount,
    /// Records dropped for their age, by table.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub expired: Vec<Expired>,
    /// Cells of typed rows that could not be read and were left out, ordered.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lost: Vec<LostCells>,
    /// Quarantined rows by what was wrong, ordered.
    pub reasons: Vec<Reason>,
    /// Hash of the quarantine file, where rows were quarantined or nothing else came of the export.
    pub quarantine: Option<String>,
    /// Ordered by table.
    pub parts: Vec<PartEntry>,
}

/// Quarantined rows of one export by place of the fault.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reason {
    /// Table the row should have become; empty where no record part applied.
    pub table: String,
    /// Column at fault; empty where the row as a whole was.
    pub column: String,
    /// Rows.
    pub rows: u64,
    /// The first of them, at most three.
    pub examples: Vec<Example>,
}

/// One quarantined row as an example.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Example {
    /// Line where the row begins, from 1.
    pub line: u64,
    /// Found, expected, what to do.
    pub reason: String,
    /// The row's text, people masked.
    pub raw: String,
}

/// The records of one table from one export.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::store) struct PartEntry {
    #[serde(with = "written::table")]
    pub table: Table,
    /// Records in the file, standing or not.
    pub records: u64,
    /// Records that do not stand.
    pub fates: Dropped,
    /// The span that the settings said every export holds whole when the part was settled.
    pub complete: Option<Complete>,
    /// Latest time in the table's time column, microseconds since 1970 UTC.
    pub newest: Option<i64>,
    /// BLAKE3 of the part, hex.
    pub hash: String,
    /// Sums of its column chunks: see [`Sums`].
    #[serde(default)]
    pub sums: String,
    /// BLAKE3 of the list of dropped records, hex; none where all stand.
    pub dropped: Option<String>,
}

impl ExportEntry {
    /// Name of its files.
    pub fn id(&self) -> String {
        export_id(&self.source, &self.file, &self.hash, &self.digest)
    }

    /// The file of a part.
    pub fn part_file(&self, layout: &Layout, part: &PartEntry) -> PathBuf {
        layout.part(part.table, &self.id(), self.in_name(&part.hash))
    }

    /// The list of a part's records that do not stand; none where all do.
    pub fn dropped_file(&self, layout: &Layout, part: &PartEntry) -> Option<PathBuf> {
        part.dropped.as_ref().map(|hash| layout.dropped(part.table, &self.id(), hash))
    }

    /// The quarantine with its hash.
    pub fn quarantine_file(&self, layout: &Layout) -> Option<(PathBuf, &str)> {
        let hash = self.quarantine.as_deref()?;
        Some((layout.quarantine(&self.id(), self.in_name(hash)), hash))
    }

    /// Every file of the export.
    pub fn files(&self, layout: &Layout) -> Vec<PathBuf> {
        let quarantine = self.quarantine_file(layout).map(|(path, _)| path);
        let parts = self
            .parts
            .iter()
            .flat_map(|part| [Some(self.part_file(layout, part)), self.dropped_file(layout, part)]);
        parts.flatten().chain(quarantine).collect()
    }

    fn in_name<'h>(&self, hash: &'h str) -> Option<&'h str> {
        Some(hash).filter(|_| !self.plain_names)
    }

    /// What orders exports and tells them apart.
    pub fn key(&self) -> (&str, &str, &str) {
        (&self.source, &self.file, &self.hash)
    }

    pub fn part(&self, table: Table) -> Option<&PartEntry> {
        self.parts.iter().find(|part| part.table == table)
    }

    fn check(&self) -> Result<(), &'static str> {
        let is_hash = |hash: &String| is_hex(hash, HASH_CHARS);
        if !self.parts.is_sorted_by(|a, b| a.table < b.table) {
            Err("parts are not in order or named twice")
        } else if !self.hashes().all(is_hash) {
            Err("a hash is not 64 hex digits")
        } else if self.rows.accounted() != Some(self.rows.read) {
            Err("its row account does not add up")
        } else if !self.parts.iter().all(PartEntry::is_possible) {
            Err("record counts that no part can have")
        } else if self.parts.iter().any(|part| Sums::parse(&part.sums).is_none()) {
            Err("a part has no sums of its columns")
        } else {
            Ok(())
        }
    }

    fn hashes(&self) -> impl Iterator<Item = &String> {
        let of_parts =
            self.parts.iter().flat_map(|part| [&part.hash].into_iter().chain(&part.dropped));
        [&self.hash, &self.digest].into_iter().chain(&self.quarantine).chain(of_parts)
    }
}

impl PartEntry {
    /// Whether a part can have these counts. Memory is reserved by them, so they are not taken on trust.
    fn is_possible(&self) -> bool {
        let dropped = self.fates.total();
        self.records <= MOST_RECORDS && dropped.is_some_and(|dropped| dropped <= self.records)
    }

    /// Records that stand.
    pub fn standing(&self) -> u64 {
        self.records.saturating_sub(self.fates.total().unwrap_or(u64::MAX))
    }
}

impl Manifest {
    /// That of a store without exports.
    pub fn empty() -> Self {
        Self { version: MANIFEST_VERSION, records_version: SCHEMA_VERSION, exports: Vec::new() }
    }

    /// What must hold of any manifest, whatever is on disk.
    pub fn check(&self) -> Result<(), String> {
        if !self.exports.is_sorted_by(|a, b| a.key() < b.key()) {
            return Err("exports are not in order or named twice".into());
        }
        for export in &self.exports {
            let named = |what| format!("{} of source {}: {what}", export.file, export.source);
            export.check().map_err(named)?;
        }
        Ok(())
    }

    /// Day (UTC) of the last intake that brought records. Bytes that were taken once more, by other
    /// settings or under another version, keep their day.
    pub fn last_intake(&self) -> Option<NaiveDate> {
        let with_records = self.exports.iter().filter(|export| !export.parts.is_empty());
        with_records.filter_map(|export| export.taken).max()
    }

    /// Every file that it names.
    pub fn files(&self, layout: &Layout) -> BTreeSet<PathBuf> {
        self.exports.iter().flat_map(|export| export.files(layout)).collect()
    }

    /// Its text and check value.
    pub fn sealed(&self, layout: &Layout) -> Result<Sealed, StoreError> {
        seal(self)
            .map_err(|error| StoreError::io(&layout.manifest(), "write")(io::Error::other(error)))
    }

    /// Makes a sealed manifest the truth, by way of a file `aside`. Every file that it names must be in
    /// place and synced.
    pub fn put(layout: &Layout, sealed: &Sealed, aside: PathBuf) -> Result<(), StoreError> {
        let mut file = HashedFile::create(&aside)?;
        file.write_all(sealed.text.as_bytes()).map_err(StoreError::io(&aside, "write"))?;
        file.finish()?;
        rename(&aside, &layout.manifest())?;
        sync_folder(layout.root())
    }
}

/// The part of a manifest that every version has.
#[derive(Deserialize)]
pub(in crate::store) struct Versions {
    version: u32,
    records_version: u32,
}

impl Versions {
    /// Reads them from any manifest.
    pub fn of(bytes: &[u8]) -> Result<Self, String> {
        serde_json::from_slice(bytes).map_err(|error| error.to_string())
    }

    /// Whether this is the version of the manifest.
    pub fn is(&self, version: u32) -> bool {
        self.version == version
    }

    /// Refuses all but this version of the manifest and the present one of the records.
    pub fn expect(&self, path: &Path, version: u32) -> Result<(), StoreError> {
        let pairs = [(self.version, version), (self.records_version, SCHEMA_VERSION)];
        match pairs.into_iter().find(|(found, expected)| found != expected) {
            Some((found, expected)) => {
                Err(StoreError::Version { path: path.to_path_buf(), found, expected })
            }
            None => Ok(()),
        }
    }
}

fn is_zero(number: &u32) -> bool {
    *number == 0
}

/// Most records of a part: their numbers have 32 bits.
pub(in crate::store) const MOST_RECORDS: u64 = u32::MAX as u64;
