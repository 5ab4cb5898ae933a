//! Columns while they are filled: plain vectors that can be cut back when a row is rejected, and
//! that become Arrow arrays without a copy.

use std::mem;
use std::sync::Arc;

use arrow::array::{
    ArrayRef, BooleanArray, DictionaryArray, Int32Array, Int64Array, StringArray,
    TimestampMicrosecondArray,
};
use arrow::buffer::{Buffer, NullBuffer, OffsetBuffer, ScalarBuffer};
use arrow::datatypes::Int32Type;
use arrow::error::ArrowError;

use super::dictionary::Dictionary;
use crate::records::Precision;

/// A column of values that may be missing.
#[derive(Debug)]
pub struct Values<T> {
    values: Vec<T>,
    given: Vec<bool>,
}

impl<T: Copy + Default> Values<T> {
    /// An empty column.
    pub fn new() -> Self {
        Self { values: Vec::new(), given: Vec::new() }
    }

    /// Appends a value.
    pub fn push(&mut self, value: Option<T>) {
        self.values.push(value.unwrap_or_default());
        self.given.push(value.is_some());
    }

    /// The value of the last row.
    pub fn last(&self) -> Option<T> {
        let given = self.given.last().copied().unwrap_or(false);
        self.values.last().copied().filter(|_| given)
    }

    /// Puts another value in the last row.
    pub fn replace_last(&mut self, value: T) {
        if let (Some(last), Some(given)) = (self.values.last_mut(), self.given.last_mut()) {
            (*last, *given) = (value, true);
        }
    }

    /// Cuts back to that many rows.
    pub fn truncate(&mut self, rows: usize) {
        self.values.truncate(rows);
        self.given.truncate(rows);
    }

    fn take(&mut self) -> (ScalarBuffer<T>, Option<NullBuffer>)
    where
        T: arrow::datatypes::ArrowNativeType,
    {
        (emptied(&mut self.values).into(), nulls(&mut self.given))
    }
}

/// The filled vector; an empty one of the same room takes its place.
fn emptied<T>(values: &mut Vec<T>) -> Vec<T> {
    let room = values.capacity();
    mem::replace(values, Vec::with_capacity(room))
}

fn nulls(given: &mut Vec<bool>) -> Option<NullBuffer> {
    let nulls = given.contains(&false).then(|| NullBuffer::from(given.as_slice()));
    given.clear();
    nulls
}

/// Texts that mostly differ from row to row.
#[derive(Debug)]
pub struct Texts {
    bytes: Vec<u8>,
    ends: Vec<i32>,
    given: Vec<bool>,
}

impl Texts {
    /// An empty column.
    pub fn new() -> Self {
        Self { bytes: Vec::new(), ends: vec![0], given: Vec::new() }
    }

    /// Appends a text.
    pub fn push(&mut self, text: Option<&str>) {
        self.bytes.extend_from_slice(text.unwrap_or_default().as_bytes());
        self.ends.push(
            i32::try_from(self.bytes.len())
                .expect("a batch ends at 32 MiB of text, and a row adds a few MiB"),
        );
        self.given.push(text.is_some());
    }

    /// Bytes of all its texts.
    pub fn size(&self) -> usize {
        self.bytes.len()
    }

    /// The bytes of the last row's text.
    pub fn last(&self) -> Option<&[u8]> {
        match (self.given.last(), self.ends.as_slice()) {
            (Some(true), [.., start, end]) => Some(&self.bytes[*start as usize..*end as usize]),
            _ => None,
        }
    }

    /// Cuts back to that many rows.
    pub fn truncate(&mut self, rows: usize) {
        self.ends.truncate(rows + 1);
        self.given.truncate(rows);
        self.bytes.truncate(self.ends.last().map_or(0, |end| *end as usize));
    }

    /// Hands over what was filled.
    pub fn take(&mut self) -> Result<ArrayRef, ArrowError> {
        let ends = emptied(&mut self.ends);
        self.ends.push(0);
        let bytes = Buffer::from_vec(emptied(&mut self.bytes));
        let array =
            StringArray::try_new(OffsetBuffer::new(ends.into()), bytes, nulls(&mut self.given))?;
        Ok(Arc::new(array))
    }
}

/// Words that many rows share.
#[derive(Debug)]
pub struct Words {
    pub keys: Values<i32>,
    pub dictionary: Dictionary,
}

impl Words {
    /// An empty column.
    pub fn new() -> Self {
        Self { keys: Values::new(), dictionary: Dictionary::default() }
    }

    /// The word of the last row.
    pub fn last(&self) -> Option<&str> {
        self.keys.last().map(|key| self.dictionary.word(key))
    }

    /// Hands over what was filled; the words stay for the next batch.
    pub fn take(&mut self) -> Result<ArrayRef, ArrowError> {
        let (keys, nulls) = self.keys.take();
        let array = words_array(Int32Array::new(keys, nulls), self.dictionary.array());
        self.dictionary.renew();
        array
    }
}

/// A dictionary array of keys and words.
pub fn words_array(keys: Int32Array, words: ArrayRef) -> Result<ArrayRef, ArrowError> {
    Ok(Arc::new(DictionaryArray::<Int32Type>::try_new(keys, words)?))
}

/// A time as typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Moment {
    /// Microseconds since 1970 in UTC; of a day its start.
    pub micros: i64,
    /// Where the time that it may mean ends: for a day the start of the next, else the same.
    pub until: i64,
    pub precision: Precision,
}

/// Times with how exactly they are known.
#[derive(Debug)]
pub struct Times {
    micros: Values<i64>,
    precisions: Values<i32>,
    last_until: i64,
}

impl Times {
    /// An empty column.
    pub fn new() -> Self {
        Self { micros: Values::new(), precisions: Values::new(), last_until: 0 }
    }

    /// Appends a time.
    pub fn push(&mut self, moment: Option<Moment>) {
        self.micros.push(moment.map(|moment| moment.micros));
        self.precisions.push(moment.map(|moment| moment.precision as i32));
        self.last_until = moment.map_or(0, |moment| moment.until);
    }

    /// Start of the last row's time, and its precision's place in the code list.
    pub fn last(&self) -> Option<(i64, i32)> {
        self.micros.last().zip(self.precisions.last())
    }

    /// End of the last row's time.
    pub fn last_until(&self) -> i64 {
        self.last_until
    }

    /// Cuts back to that many rows.
    pub fn truncate(&mut self, rows: usize) {
        self.micros.truncate(rows);
        self.precisions.truncate(rows);
    }

    /// Hands over the times, then the precisions.
    pub fn take(&mut self, precision_words: ArrayRef) -> Result<[ArrayRef; 2], ArrowError> {
        let (micros, given) = self.micros.take();
        let times = TimestampMicrosecondArray::new(micros, given).with_timezone("UTC");
        let (keys, given) = self.precisions.take();
        Ok([Arc::new(times), words_array(Int32Array::new(keys, given), precision_words)?])
    }
}

/// Hands over a column of whole numbers.
pub fn take_numbers(numbers: &mut Values<i64>) -> ArrayRef {
    let (values, given) = numbers.take();
    Arc::new(Int64Array::new(values, given))
}

/// Hands over a column of flags.
pub fn take_flags(flags: &mut Values<bool>) -> ArrayRef {
    let given = nulls(&mut flags.given);
    let values = flags.values.as_slice().into();
    flags.values.clear();
    Arc::new(BooleanArray::new(values, given))
}
