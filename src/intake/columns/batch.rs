//! The records of one table on their way into a batch.
//!
//! A row fills every column, then is kept or cut back: what a batch holds is always whole records.

use std::sync::Arc;

use arrow::array::{
    ArrayRef, FixedSizeBinaryArray, Int32Array, RecordBatch, StringArray, UInt64Array,
    new_null_array,
};
use arrow::buffer::Buffer;
use arrow::datatypes::SchemaRef;
use arrow::error::ArrowError;

use super::column::{Texts, Times, Values, Words, take_flags, take_numbers, words_array};
use super::identity::Identity;
use crate::records::{Column, Kind, Precision, Table, columns, schema};

/// Most records of a batch.
pub const BATCH_ROWS: usize = 65_536;
/// Bytes of texts and words at which a batch ends, however few records it has.
const BATCH_BYTES: usize = 32 << 20;

/// Where a canonical column is kept: the place within its kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slot {
    Text(usize),
    Words(usize),
    Time(usize),
    Number(usize),
    Flag(usize),
    /// Nothing fills it: null in every row.
    Absent,
}

/// Columns of one table, filled row by row.
#[derive(Debug)]
pub struct TableBatch {
    pub table: Table,
    /// One for each of the table's columns, in their order.
    pub slots: Vec<Slot>,
    pub texts: Vec<Texts>,
    pub words: Vec<Words>,
    pub times: Vec<Times>,
    pub numbers: Vec<Values<i64>>,
    pub flags: Vec<Values<bool>>,
    identities: Vec<[u8; 16]>,
    members: Vec<u64>,
    contents: Vec<u64>,
    ordinals: Vec<u64>,
    kept: usize,
    schema: SchemaRef,
    source: ArrayRef,
    precisions: ArrayRef,
}

impl TableBatch {
    /// An empty batch of a table in which the columns for which `fills` holds are filled.
    pub fn new(table: Table, source: &str, fills: impl Fn(&Column) -> bool) -> Self {
        let mut batch = Self {
            table,
            slots: Vec::new(),
            texts: Vec::new(),
            words: Vec::new(),
            times: Vec::new(),
            numbers: Vec::new(),
            flags: Vec::new(),
            identities: Vec::new(),
            members: Vec::new(),
            contents: Vec::new(),
            ordinals: Vec::new(),
            kept: 0,
            schema: schema(table),
            source: Arc::new(StringArray::from_iter_values([source])),
            precisions: Arc::new(StringArray::from_iter_values(Precision::WORDS)),
        };
        for column in columns(table) {
            let slot = if fills(column) { batch.add(column.kind) } else { Slot::Absent };
            batch.slots.push(slot);
        }
        batch
    }

    fn add(&mut self, kind: Kind) -> Slot {
        match kind {
            Kind::Text => Slot::Text(place(&mut self.texts, Texts::new())),
            Kind::Code | Kind::Person => Slot::Words(place(&mut self.words, Words::new())),
            Kind::Time => Slot::Time(place(&mut self.times, Times::new())),
            Kind::Integer | Kind::Minutes | Kind::Money => {
                Slot::Number(place(&mut self.numbers, Values::new()))
            }
            Kind::Flag => Slot::Flag(place(&mut self.flags, Values::new())),
        }
    }

    /// The slot of a column by its name.
    pub fn slot(&self, name: &str) -> Slot {
        let place = columns(self.table).iter().position(|column| column.name == name);
        place.map_or(Slot::Absent, |place| self.slots[place])
    }

    /// Adds what the program itself knows of the record whose columns were just filled.
    pub fn identify(&mut self, identity: Identity, ordinal: u64) {
        self.identities.push(identity.identity);
        self.members.push(identity.member);
        self.contents.push(identity.content);
        self.ordinals.push(ordinal);
    }

    /// Keeps every record filled so far. Returns how many are new.
    pub fn keep(&mut self) -> usize {
        let new = self.ordinals.len() - self.kept;
        self.kept += new;
        new
    }

    /// Cuts back to what is kept.
    pub fn cut_back(&mut self) {
        self.texts.iter_mut().for_each(|column| column.truncate(self.kept));
        self.words.iter_mut().for_each(|column| column.keys.truncate(self.kept));
        self.times.iter_mut().for_each(|column| column.truncate(self.kept));
        self.numbers.iter_mut().for_each(|column| column.truncate(self.kept));
        self.flags.iter_mut().for_each(|column| column.truncate(self.kept));
        self.identities.truncate(self.kept);
        self.members.truncate(self.kept);
        self.contents.truncate(self.kept);
        self.ordinals.truncate(self.kept);
    }

    /// Whether it should be handed on before the next row.
    pub fn is_full(&self) -> bool {
        let texts: usize = self.texts.iter().map(Texts::size).sum();
        let words: usize = self.words.iter().map(|words| words.dictionary.size()).sum();
        self.kept >= BATCH_ROWS || texts + words >= BATCH_BYTES
    }

    /// Whether it holds no record.
    pub fn is_empty(&self) -> bool {
        self.kept == 0
    }

    /// Hands over the records kept.
    ///
    /// # Errors
    /// When Arrow refuses the columns, which would be a mistake of this module.
    pub fn take(&mut self) -> Result<RecordBatch, ArrowError> {
        let rows = self.kept;
        let mut arrays = vec![words_array(Int32Array::from(vec![0; rows]), self.source.clone())?];
        for (place, column) in columns(self.table).iter().enumerate() {
            match self.slots[place] {
                Slot::Text(at) => arrays.push(self.texts[at].take()?),
                Slot::Words(at) => arrays.push(self.words[at].take()?),
                Slot::Time(at) => arrays.extend(self.times[at].take(self.precisions.clone())?),
                Slot::Number(at) => arrays.push(take_numbers(&mut self.numbers[at])),
                Slot::Flag(at) => arrays.push(take_flags(&mut self.flags[at])),
                Slot::Absent => {
                    let width = if column.kind == Kind::Time { 2 } else { 1 };
                    for _ in 0..width {
                        let kind = self.schema.field(arrays.len()).data_type();
                        arrays.push(new_null_array(kind, rows));
                    }
                }
            }
        }
        let identities = std::mem::take(&mut self.identities).into_flattened();
        arrays.push(Arc::new(FixedSizeBinaryArray::try_new(
            16,
            Buffer::from_vec(identities),
            None,
        )?));
        for column in [&mut self.members, &mut self.contents, &mut self.ordinals] {
            arrays.push(Arc::new(UInt64Array::from(std::mem::take(column))));
        }
        self.kept = 0;
        RecordBatch::try_new(self.schema.clone(), arrays)
    }
}

fn place<T>(columns: &mut Vec<T>, column: T) -> usize {
    columns.push(column);
    columns.len() - 1
}
