//! A person is cut out of the store, and does not come back.
//!
//! The store keeps a keyed hash of each forgotten name, in a file of its own with a check value, written
//! before anything is cut: an intake gives such a name no pseudonym. Then every cell with the person's
//! pseudonym or name becomes null (`erased` where a record must have something there), the fingerprints
//! of those records become those of records that came without the name, and the name is masked in the
//! text of rejected rows.

use std::collections::BTreeMap;
use std::fs;
use std::io::{self, Write};
use std::sync::Arc;

use arrow::array::{
    Array, ArrayRef, AsArray, DictionaryArray, FixedSizeBinaryArray, RecordBatch, StringArray,
    UInt64Array,
};
use arrow::datatypes::{DataType, Int32Type, UInt64Type};
use serde::{Deserialize, Serialize};

use super::parts::Edit;
use crate::intake::{MASK, PeopleKey, fingerprint_anew};
use crate::records::{IDENTITY_COLUMNS, Table, schema};
use crate::store::StoreError;
use crate::store::disk::durable::{HashedFile, rename, sync_folder};
use crate::store::manifest::layout::Layout;
use crate::store::manifest::sealed::{seal, unseal};

/// Stands where a record must have a text and the person's was cut out.
const ERASED: &str = "erased";

/// What was cut out.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Forgotten {
    /// Cells by table.
    pub cells: BTreeMap<&'static str, u64>,
    /// Rejected rows in whose text a name was masked.
    pub rejected: u64,
}

/// The names that the store must not take again.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::store) struct NoMore {
    /// [`PeopleKey::forgotten_hash`] of each, in order.
    pub names: Vec<String>,
}

impl NoMore {
    /// Those of the store; none where nobody was forgotten yet.
    pub fn load(layout: &Layout) -> Result<Self, StoreError> {
        let path = layout.forgotten();
        match fs::read(&path) {
            Ok(bytes) => {
                let read = unseal(&bytes).map(|(names, _)| names);
                read.map_err(|why| StoreError::damaged(&path, why))
            }
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(Self::default()),
            Err(error) => Err(StoreError::io(&path, "read")(error)),
        }
    }

    /// Adds names and makes that durable, whole or not at all.
    pub fn add(
        &mut self,
        layout: &Layout,
        key: &PeopleKey,
        names: &[String],
    ) -> Result<(), StoreError> {
        self.names.extend(names.iter().map(|name| key.forgotten_hash(name)));
        self.names.sort();
        self.names.dedup();
        let (path, aside) = (layout.forgotten(), layout.forgotten_new());
        let sealed = seal(self).map_err(io::Error::other);
        let sealed = sealed.map_err(StoreError::io(&path, "write"))?;
        let mut file = HashedFile::create(&aside)?;
        file.write_all(sealed.text.as_bytes()).map_err(StoreError::io(&aside, "write"))?;
        file.finish()?;
        rename(&aside, &path)?;
        sync_folder(layout.root())
    }
}

/// Cuts people out.
pub(in crate::store) struct Forget {
    /// Their names and pseudonyms: what no cell may be.
    texts: Vec<String>,
    names: Vec<String>,
    pub done: Forgotten,
}

impl Forget {
    pub fn of(key: &PeopleKey, names: &[String]) -> Self {
        let pseudonyms = names.iter().map(|name| key.pseudonym_of(name));
        let texts = names.iter().cloned().chain(pseudonyms).collect();
        Self { texts, names: names.to_vec(), done: Forgotten::default() }
    }

    fn is_theirs(&self, text: &str) -> bool {
        self.texts.iter().any(|known| known == text)
    }

    /// Rows of a column that are theirs, rising.
    fn rows(&self, cells: &dyn Array) -> Vec<usize> {
        // Most columns are decided by their words alone.
        if let Some(words) = cells.as_dictionary_opt::<Int32Type>()
            && let Some(words) = words.values().as_string_opt::<i32>()
            && !words.iter().flatten().any(|word| self.is_theirs(word))
        {
            return Vec::new();
        }
        let theirs = |row: &usize| cell(cells, *row).is_some_and(|text| self.is_theirs(text));
        (0..cells.len()).filter(theirs).collect()
    }
}

impl Edit for Forget {
    fn looks_at(&self, _: Table) -> Option<Vec<&'static str>> {
        Some(Vec::new())
    }

    fn touches(&self, table: Table, batch: &RecordBatch) -> bool {
        let columns = text_columns(table);
        columns.iter().any(|(at, _)| !self.rows(batch.column(*at).as_ref()).is_empty())
    }

    fn batch(&mut self, table: Table, batch: RecordBatch) -> Result<RecordBatch, String> {
        let mut columns = batch.columns().to_vec();
        let mut changed = std::collections::BTreeSet::new();
        let mut cut = 0;
        for (at, may_be_null) in text_columns(table) {
            let cells = batch.column(at);
            let theirs = self.rows(cells.as_ref());
            if !theirs.is_empty() {
                cut += theirs.len() as u64;
                columns[at] = without(cells, &theirs, may_be_null);
                changed.extend(theirs);
            }
        }
        if changed.is_empty() {
            return Ok(batch);
        }
        *self.done.cells.entry(table.name()).or_default() += cut;
        let wrong = |error: arrow::error::ArrowError| error.to_string();
        let edited = RecordBatch::try_new(batch.schema(), columns.clone()).map_err(wrong)?;
        let [identity, _, content] = IDENTITY_COLUMNS.map(|name| batch.schema().index_of(name));
        let (identity, content) = (identity.map_err(wrong)?, content.map_err(wrong)?);
        let old = batch.column(identity).as_fixed_size_binary();
        let mut identities: Vec<[u8; 16]> = old
            .value_data()
            .chunks_exact(16)
            .map(|bytes| bytes.try_into().expect("chunks of sixteen bytes"))
            .collect();
        let mut contents = batch.column(content).as_primitive::<UInt64Type>().values().to_vec();
        for row in changed {
            let anew = fingerprint_anew(table, &batch, &edited, row);
            let (identity, content) = anew.ok_or("a record does not agree with its fingerprint")?;
            identities[row] = identity;
            contents[row] = content;
        }
        let identities = identities.into_flattened();
        columns[identity] = Arc::new(
            FixedSizeBinaryArray::try_new(16, arrow::buffer::Buffer::from_vec(identities), None)
                .map_err(wrong)?,
        );
        columns[content] = Arc::new(UInt64Array::from(contents));
        RecordBatch::try_new(batch.schema(), columns).map_err(wrong)
    }

    fn text(&self, text: &str) -> Option<String> {
        let held = self.names.iter().any(|name| text.contains(name.as_str()));
        held.then(|| self.names.iter().fold(text.to_owned(), |text, name| text.replace(name, MASK)))
    }

    fn changed_text(&mut self) {
        self.done.rejected += 1;
    }
}

/// A column of texts or words without those of some rows.
fn without(cells: &ArrayRef, rows: &[usize], may_be_null: bool) -> ArrayRef {
    let mut rest = rows.iter().peekable();
    let texts = (0..cells.len()).map(|row| {
        if rest.next_if_eq(&&row).is_some() {
            return (!may_be_null).then_some(ERASED);
        }
        cell(cells.as_ref(), row)
    });
    if cells.as_dictionary_opt::<Int32Type>().is_some() {
        Arc::new(texts.collect::<DictionaryArray<Int32Type>>())
    } else {
        Arc::new(texts.collect::<StringArray>())
    }
}

/// Columns of a table that hold text of any kind, and whether each may be null.
fn text_columns(table: Table) -> Vec<(usize, bool)> {
    let schema = schema(table);
    let is_text = |at: &usize| {
        let field = schema.field(*at);
        let twin = field.name().ends_with("_precision") || field.name() == "source";
        !twin && (field.data_type().is_string() || is_words(field.data_type()))
    };
    let all = (0..schema.fields().len()).filter(is_text);
    all.map(|at| (at, schema.field(at).is_nullable())).collect()
}

fn is_words(kind: &DataType) -> bool {
    matches!(kind, DataType::Dictionary(_, word) if word.is_string())
}

/// The text of a cell; none where it is null.
fn cell(cells: &dyn Array, row: usize) -> Option<&str> {
    if cells.is_null(row) {
        return None;
    }
    match cells.as_dictionary_opt::<Int32Type>() {
        Some(words) => {
            words.values().as_string_opt::<i32>().zip(words.key(row)).map(|(w, k)| w.value(k))
        }
        None => cells.as_string_opt::<i32>().map(|texts| texts.value(row)),
    }
}
