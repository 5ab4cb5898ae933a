//! Columns of a batch from the store, read by row number without allocating.

use std::sync::Mutex;

use arrow::array::{
    Array, ArrayRef, AsArray, BooleanArray, FixedSizeBinaryArray, Int32Array, Int64Array,
    RecordBatch, StringArray, TimestampMicrosecondArray,
};
use arrow::buffer::NullBuffer;
use arrow::datatypes::{Int32Type, Int64Type, TimestampMicrosecondType};

use super::names::Names;
use crate::derive::DeriveError;

/// A dictionary column whose words were turned into codes once for the batch.
pub struct Coded<'a> {
    keys: &'a [i32],
    nulls: Option<&'a NullBuffer>,
    codes: Vec<u32>,
}

impl Coded<'_> {
    /// The code of a row, 0 where not given.
    pub fn get(&self, row: usize) -> u32 {
        match self.nulls {
            Some(nulls) if nulls.is_null(row) => 0,
            _ => self.codes.get(self.keys[row] as usize).copied().unwrap_or(0),
        }
    }
}

fn column<'a>(batch: &'a RecordBatch, name: &'static str) -> Result<&'a ArrayRef, DeriveError> {
    batch.column_by_name(name).ok_or(DeriveError::Column { name })
}

fn coded<'a>(
    batch: &'a RecordBatch,
    name: &'static str,
    mut code: impl FnMut(&str) -> u32,
) -> Result<Coded<'a>, DeriveError> {
    let array = column(batch, name)?
        .as_dictionary_opt::<Int32Type>()
        .ok_or(DeriveError::Column { name })?;
    let words = array.values().as_string_opt::<i32>().ok_or(DeriveError::Column { name })?;
    let codes = words.iter().map(|word| word.map_or(0, &mut code)).collect();
    Ok(Coded { keys: array.keys().values(), nulls: array.nulls(), codes })
}

/// A column of a list that grows as words are met.
pub fn listed<'a>(
    batch: &'a RecordBatch,
    name: &'static str,
    names: &Mutex<Names>,
) -> Result<Coded<'a>, DeriveError> {
    let mut names = names.lock().map_err(|_| DeriveError::Thread)?;
    coded(batch, name, |word| names.code(word))
}

/// A column of a closed list: places plus 1.
pub fn fixed<'a>(
    batch: &'a RecordBatch,
    name: &'static str,
    words: &[&str],
) -> Result<Coded<'a>, DeriveError> {
    coded(batch, name, |word| {
        words.iter().position(|known| *known == word).map_or(0, |at| at as u32 + 1)
    })
}

/// A column of words that are only compared: hashes, so that they do not depend on the order in
/// which threads met the words. Never 0 where given.
pub fn hashed<'a>(batch: &'a RecordBatch, name: &'static str) -> Result<Coded<'a>, DeriveError> {
    coded(batch, name, |word| (xxhash_rust::xxh3::xxh3_64(word.as_bytes()) as u32).max(1))
}

/// The words of a dictionary column.
pub struct Words<'a> {
    keys: &'a Int32Array,
    words: &'a StringArray,
}

impl<'a> Words<'a> {
    /// The column of that name.
    pub fn of(batch: &'a RecordBatch, name: &'static str) -> Result<Self, DeriveError> {
        let wrong = DeriveError::Column { name };
        let array = column(batch, name)?.as_dictionary_opt::<Int32Type>().ok_or(wrong)?;
        let words = array.values().as_string_opt::<i32>().ok_or(DeriveError::Column { name })?;
        Ok(Words { keys: array.keys(), words })
    }

    /// The word of a row, empty where not given.
    pub fn get(&self, row: usize) -> &'a str {
        if self.keys.is_null(row) { "" } else { self.words.value(self.keys.value(row) as usize) }
    }
}

/// A text column.
pub struct Texts<'a>(&'a StringArray);

impl<'a> Texts<'a> {
    /// The column of that name.
    pub fn of(batch: &'a RecordBatch, name: &'static str) -> Result<Self, DeriveError> {
        column(batch, name)?.as_string_opt().map(Texts).ok_or(DeriveError::Column { name })
    }

    /// The text of a row, empty where not given.
    pub fn get(&self, row: usize) -> &'a str {
        if self.0.is_null(row) { "" } else { self.0.value(row) }
    }
}

/// A time column with its precision.
pub struct Times<'a> {
    at: &'a TimestampMicrosecondArray,
    day: Coded<'a>,
}

impl<'a> Times<'a> {
    /// The column of that name; `precision` is the name of its twin.
    pub fn of(
        batch: &'a RecordBatch,
        name: &'static str,
        precision: &'static str,
    ) -> Result<Self, DeriveError> {
        let at = column(batch, name)?
            .as_primitive_opt::<TimestampMicrosecondType>()
            .ok_or(DeriveError::Column { name })?;
        Ok(Times { at, day: fixed(batch, precision, &["day"])? })
    }

    /// The time of a row and whether only its day is known.
    pub fn get(&self, row: usize) -> Option<(i64, bool)> {
        self.at.is_valid(row).then(|| (self.at.value(row), self.day.get(row) == 1))
    }
}

/// A column of whole numbers.
pub fn integers<'a>(
    batch: &'a RecordBatch,
    name: &'static str,
) -> Result<&'a Int64Array, DeriveError> {
    column(batch, name)?.as_primitive_opt::<Int64Type>().ok_or(DeriveError::Column { name })
}

/// A yes-or-no column.
pub fn booleans<'a>(
    batch: &'a RecordBatch,
    name: &'static str,
) -> Result<&'a BooleanArray, DeriveError> {
    column(batch, name)?.as_boolean_opt().ok_or(DeriveError::Column { name })
}

/// The identity column.
pub struct Identities<'a>(&'a FixedSizeBinaryArray);

impl<'a> Identities<'a> {
    /// The identities of a batch.
    pub fn of(batch: &'a RecordBatch) -> Result<Self, DeriveError> {
        let name = "identity";
        let array = column(batch, name)?.as_fixed_size_binary_opt();
        array.map(Identities).ok_or(DeriveError::Column { name })
    }

    /// The last eight bytes of a row's identity, as a number.
    pub fn get(&self, row: usize) -> u64 {
        let bytes = self.0.value(row);
        bytes.iter().rev().take(8).fold(0, |number, byte| number << 8 | u64::from(*byte))
    }
}

/// The first 16 bytes of a text as two numbers that compare as the text does.
pub fn prefix(text: &str) -> [u64; 2] {
    let mut bytes = [0; 16];
    let taken = text.len().min(16);
    bytes[..taken].copy_from_slice(&text.as_bytes()[..taken]);
    let half =
        |from: usize| bytes[from..from + 8].iter().fold(0, |n, byte| n << 8 | u64::from(*byte));
    [half(0), half(8)]
}
