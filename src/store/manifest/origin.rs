//! What every file of an export says of itself, so that a lost manifest can be made again.
//!
//! It stands in the Parquet metadata, with a check value. What depends on other exports (which records
//! stand) is not in it: settling finds that again. Nor is any text of a row,
//! but for the first cells left out, which whoever cuts out a name goes over too.

use std::fs::File;
use std::path::Path;

use chrono::NaiveDate;
use chrono_tz::Tz;
use parquet::file::reader::{FileReader, SerializedFileReader};
use serde::{Deserialize, Serialize};

use super::layout::export_id;
use super::written;
use crate::intake::LostCells;
use crate::records::{SCHEMA_VERSION, Table};
use crate::settings::NameScope;
use crate::store::disk::guarded::guarded;
use crate::store::settle::complete::Complete;
use crate::store::{Expired, StoreError};

/// Keys of the metadata.
const ORIGIN: &str = "export";
const CHECK: &str = "export_blake3";
const RECORDS_VERSION: &str = "schema_version";

/// One export as its files describe it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::store) struct Origin {
    pub source: String,
    /// Path relative to the settings' folder.
    pub file: String,
    /// BLAKE3 of the file's bytes, hex.
    pub hash: String,
    /// Of exports with one name, the higher is the later.
    pub version: u32,
    /// BLAKE3 of the settings that its records depend on, hex.
    pub digest: String,
    #[serde(with = "written::timezone")]
    pub timezone: Tz,
    #[serde(with = "written::scope")]
    pub end_face_names: NameScope,
    pub one_name_both_sides: bool,
    /// Day (UTC) on which its bytes were first taken.
    #[serde(with = "written::day")]
    pub taken: Option<NaiveDate>,
    /// How often its parts were written anew after they were taken.
    pub edition: u32,
    /// Data rows in the export.
    pub read: u64,
    /// Of those, rows that could not be typed.
    pub quarantined: u64,
    /// Rows of which every record was dropped for its age, and those records by table.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub expired_rows: u64,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub expired: Vec<Expired>,
    /// Cells of typed rows that could not be read and were left out, ordered.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lost: Vec<LostCells>,
    /// Whether it has a quarantine file. One without any part has, even if no row is in it.
    pub has_quarantine: bool,
    /// Its parts, ordered by table.
    pub parts: Vec<OriginPart>,
}

/// One part as all files of its export describe it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::store) struct OriginPart {
    #[serde(with = "written::table")]
    pub table: Table,
    /// Records in the part, standing or not.
    pub records: u64,
    /// Latest time in the table's time column, microseconds since 1970 UTC.
    pub newest: Option<i64>,
    /// The span that the settings said every export holds whole when this one was taken.
    pub complete: Option<Complete>,
}

impl Origin {
    /// Name of the export's files.
    pub fn id(&self) -> String {
        export_id(&self.source, &self.file, &self.hash, &self.digest)
    }

    /// The Parquet metadata: the origin, its check value, and by itself what other programs may want.
    pub fn metadata(&self) -> Vec<(&'static str, String)> {
        // A struct of texts and numbers always has a JSON form.
        let origin = serde_json::to_string(self).unwrap_or_default();
        let check = blake3::hash(origin.as_bytes()).to_hex().to_string();
        vec![
            (RECORDS_VERSION, SCHEMA_VERSION.to_string()),
            ("source", self.source.clone()),
            ("file", self.file.clone()),
            ("file_blake3", self.hash.clone()),
            ("map_digest", self.digest.clone()),
            ("timezone", self.timezone.name().to_string()),
            ("end_face_names", written::scope_name(self.end_face_names).to_string()),
            ("one_name_both_sides", self.one_name_both_sides.to_string()),
            (ORIGIN, origin),
            (CHECK, check),
        ]
    }

    /// Reads the origin of a file of the store, which need not be in any manifest.
    pub fn of_file(path: &Path) -> Result<Self, StoreError> {
        let damaged = |why: &str| StoreError::damaged(path, why);
        let file = File::open(path).map_err(|error| StoreError::damaged(path, error))?;
        let reader = guarded(path, || SerializedFileReader::new(file))?;
        let entries = reader.metadata().file_metadata().key_value_metadata();
        let value = |key: &str| {
            let entry = entries.into_iter().flatten().find(|entry| entry.key == key);
            entry.and_then(|entry| entry.value.clone())
        };
        let origin = value(ORIGIN).ok_or_else(|| {
            damaged("does not say what it is, since an earlier form of the store wrote it")
        })?;
        if value(CHECK).as_deref() != Some(blake3::hash(origin.as_bytes()).to_hex().as_str()) {
            return Err(damaged("what it says of itself does not agree with its check value"));
        }
        if value(RECORDS_VERSION) != Some(SCHEMA_VERSION.to_string()) {
            return Err(damaged("was written with other columns than this version has"));
        }
        serde_json::from_str(&origin).map_err(|error| StoreError::damaged(path, error))
    }
}

fn is_zero(number: &u64) -> bool {
    *number == 0
}
