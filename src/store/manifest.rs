//! The manifest: which exports are in the store, what became of them, and every hash.
//!
//! It is the one truth. Whatever it does not name is a leftover; it changes by one rename, last.

use std::fs;
use std::io::{self, Write};

use chrono::NaiveDate;
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};

use crate::records::{SCHEMA_VERSION, Table};
use crate::settings::NameScope;

use super::complete::Complete;
use super::durable::{HashedFile, rename, sync_folder};
use super::fates::Dropped;
use super::layout::{Layout, export_id};
use super::sink::MOST_RECORDS;
use super::{RowAccount, StoreError, written};

/// Version of the manifest's own form.
const MANIFEST_VERSION: u32 = 2;

/// Length of a BLAKE3 as hex.
const HASH_CHARS: usize = 64;

/// What is in the store.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Manifest {
    pub version: u32,
    /// Version of the canonical schemas that every part was written with.
    pub records_version: u32,
    /// Day (UTC) of the last intake that brought records.
    #[serde(with = "written::day", alias = "first_intake")]
    pub last_intake: Option<NaiveDate>,
    /// Ordered by source, file, hash; these three are unique.
    pub exports: Vec<ExportEntry>,
}

/// One export that was taken.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ExportEntry {
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
    pub rows: RowAccount,
    /// Quarantined rows by what was wrong, ordered.
    pub reasons: Vec<Reason>,
    /// Hash of the quarantine file, where rows were quarantined.
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
pub(super) struct PartEntry {
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
    /// BLAKE3 of the list of dropped records, hex; none where all stand.
    pub dropped: Option<String>,
}

impl ExportEntry {
    /// Name of its files.
    pub fn id(&self) -> String {
        export_id(&self.source, &self.file, &self.hash, &self.digest)
    }

    /// What orders exports and tells them apart.
    pub fn key(&self) -> (&str, &str, &str) {
        (&self.source, &self.file, &self.hash)
    }

    pub fn part(&self, table: Table) -> Option<&PartEntry> {
        self.parts.iter().find(|part| part.table == table)
    }

    fn check(&self) -> Result<(), &'static str> {
        let is_hash = |hash: &String| {
            hash.len() == HASH_CHARS && hash.bytes().all(|byte| byte.is_ascii_hexdigit())
        };
        if !self.parts.is_sorted_by(|a, b| a.table < b.table) {
            Err("parts are not in order or named twice")
        } else if !self.hashes().all(is_hash) {
            Err("a hash is not 64 hex digits")
        } else if self.rows.accounted() != Some(self.rows.read) {
            Err("its row account does not add up")
        } else if !self.parts.iter().all(PartEntry::is_possible) {
            Err("record counts that no part can have")
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
        Self {
            version: MANIFEST_VERSION,
            records_version: SCHEMA_VERSION,
            last_intake: None,
            exports: Vec::new(),
        }
    }

    /// Reads and checks the manifest; none in a new store.
    pub fn load(layout: &Layout) -> Result<Option<Self>, StoreError> {
        let path = layout.manifest();
        let bytes = match fs::read(&path) {
            Ok(bytes) => bytes,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(StoreError::io(&path, "read")(error)),
        };
        let found: Versions =
            serde_json::from_slice(&bytes).map_err(|error| StoreError::damaged(&path, error))?;
        for (found, expected) in
            [(found.version, MANIFEST_VERSION), (found.records_version, SCHEMA_VERSION)]
        {
            if found != expected {
                return Err(StoreError::Version { path, found, expected });
            }
        }
        let manifest: Self =
            serde_json::from_slice(&bytes).map_err(|error| StoreError::damaged(&path, error))?;
        manifest.check().map_err(|why| StoreError::damaged(&path, why))?;
        Ok(Some(manifest))
    }

    /// What must hold of any manifest, whatever is on disk.
    fn check(&self) -> Result<(), String> {
        if !self.exports.is_sorted_by(|a, b| a.key() < b.key()) {
            return Err("exports are not in order or named twice".into());
        }
        for export in &self.exports {
            let named = |what| format!("{} of source {}: {what}", export.file, export.source);
            export.check().map_err(named)?;
        }
        Ok(())
    }

    /// Makes this the truth. Every file that it names must be in place and synced.
    pub fn commit(&self, layout: &Layout) -> Result<(), StoreError> {
        let aside = layout.manifest_new();
        let mut text = serde_json::to_vec_pretty(self)
            .map_err(|error| StoreError::io(&aside, "write")(io::Error::other(error)))?;
        text.push(b'\n');
        let mut file = HashedFile::create(&aside)?;
        file.write_all(&text).map_err(StoreError::io(&aside, "write"))?;
        file.finish()?;
        rename(&aside, &layout.manifest())?;
        sync_folder(layout.root())
    }
}

/// The part of a manifest that every version has.
#[derive(Deserialize)]
struct Versions {
    version: u32,
    records_version: u32,
}
