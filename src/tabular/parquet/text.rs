//! The values of an Arrow column as cell texts.

use std::borrow::Cow;

use arrow::array::{Array, AsArray, PrimitiveArray};
use arrow::datatypes::{
    ArrowTimestampType, DataType, Float16Type, Float32Type, Float64Type, TimeUnit,
    TimestampMicrosecondType, TimestampMillisecondType, TimestampNanosecondType,
    TimestampSecondType,
};
use arrow::error::ArrowError;
use arrow::util::display::{ArrayFormatter, DurationFormat, FormatOptions};
use chrono::TimeDelta;

use crate::tabular::value_text::{moment_text, number_text};

/// The texts of a column, one behind the other.
#[derive(Clone, Debug, Default)]
pub struct ColumnTexts {
    bytes: Vec<u8>,
    ends: Vec<usize>,
}

impl ColumnTexts {
    /// The text in a row; empty beyond the last.
    pub fn get(&self, row: usize) -> &[u8] {
        let start = row.checked_sub(1).and_then(|above| self.ends.get(above)).copied();
        let end = self.ends.get(row).copied().unwrap_or_default();
        self.bytes.get(start.unwrap_or_default()..end).unwrap_or_default()
    }

    fn push(&mut self, text: &[u8]) {
        self.bytes.extend_from_slice(text);
        self.ends.push(self.bytes.len());
    }
}

/// The values of a column as texts: numbers in their shortest form, moments by ISO 8601 with `Z`
/// where they are in UTC and without where they are local, bytes as [`bytes_text`] has them, nothing
/// for null. Lists and structures are shown as they print.
///
/// # Errors
/// When a value cannot be shown.
pub fn texts(array: &dyn Array) -> Result<ColumnTexts, ArrowError> {
    let mut texts = ColumnTexts::default();
    let mut each = |text: &dyn Fn(usize, &mut ColumnTexts)| {
        (0..array.len()).for_each(|row| match array.is_null(row) {
            true => texts.push(b""),
            false => text(row, &mut texts),
        });
    };
    match array.data_type() {
        DataType::Utf8 => {
            let array = array.as_string::<i32>();
            each(&|row, texts| texts.push(array.value(row).as_bytes()));
        }
        DataType::Binary => {
            let array = array.as_binary::<i32>();
            each(&|row, texts| texts.push(bytes_text(array.value(row)).as_bytes()));
        }
        DataType::Float64 => {
            let array = array.as_primitive::<Float64Type>();
            each(&|row, texts| texts.push(number_text(array.value(row)).as_bytes()));
        }
        DataType::Float32 => {
            let array = array.as_primitive::<Float32Type>();
            each(&|row, texts| texts.push(single_text(array.value(row)).as_bytes()));
        }
        DataType::Float16 => {
            let array = array.as_primitive::<Float16Type>();
            each(&|row, texts| texts.push(single_text(array.value(row).to_f32()).as_bytes()));
        }
        DataType::Timestamp(unit, zone) => {
            let moment = moment_at(array, *unit);
            let end = if zone.is_some() { "Z" } else { "" };
            each(&|row, texts| texts.push(format!("{}{end}", moment(row)).as_bytes()));
        }
        _ => return shown(array),
    }
    Ok(texts)
}

/// Bytes of no stated kind as a text: themselves where they are UTF-8 without control characters but
/// those of blank space, as of a writer that does not say that its bytes are text; else `0x` and two
/// hexadecimal digits a byte.
fn bytes_text(bytes: &[u8]) -> Cow<'_, str> {
    let odd = |c: char| c.is_control() && !matches!(c, '\t' | '\n' | '\r');
    match std::str::from_utf8(bytes) {
        Ok(text) if !text.contains(odd) => Cow::Borrowed(text),
        _ => {
            let mut text = String::with_capacity(2 + 2 * bytes.len());
            text.push_str("0x");
            for byte in bytes {
                let digit = |half: u8| char::from_digit(u32::from(half), 16).unwrap_or('0');
                text.extend([digit(byte >> 4), digit(byte & 15)]);
            }
            Cow::Owned(text)
        }
    }
}

/// The shortest text that gives the same number of single precision again.
fn single_text(number: f32) -> String {
    number.to_string().parse().map_or_else(|_| number.to_string(), number_text)
}

/// Gives the moment in a row as text; as its number if it lies beyond the calendar.
fn moment_at(array: &dyn Array, unit: TimeUnit) -> Box<dyn Fn(usize) -> String + '_> {
    fn of<'a, T: ArrowTimestampType>(
        array: &'a dyn Array,
        distance: fn(i64) -> Option<TimeDelta>,
    ) -> Box<dyn Fn(usize) -> String + 'a> {
        let array: &PrimitiveArray<T> = array.as_primitive();
        Box::new(move |row| {
            let value = array.value(row);
            distance(value).and_then(moment_text).unwrap_or_else(|| value.to_string())
        })
    }
    match unit {
        TimeUnit::Second => of::<TimestampSecondType>(array, TimeDelta::try_seconds),
        TimeUnit::Millisecond => of::<TimestampMillisecondType>(array, TimeDelta::try_milliseconds),
        TimeUnit::Microsecond => {
            of::<TimestampMicrosecondType>(array, |value| Some(TimeDelta::microseconds(value)))
        }
        TimeUnit::Nanosecond => {
            of::<TimestampNanosecondType>(array, |value| Some(TimeDelta::nanoseconds(value)))
        }
    }
}

/// Every other kind, as it prints.
fn shown(array: &dyn Array) -> Result<ColumnTexts, ArrowError> {
    let options = FormatOptions::default()
        .with_display_error(false)
        .with_duration_format(DurationFormat::ISO8601);
    let formatter = ArrayFormatter::try_new(array, &options)?;
    let (mut texts, mut text) = (ColumnTexts::default(), String::new());
    for row in 0..array.len() {
        text.clear();
        formatter.value(row).write(&mut text)?;
        texts.push(text.as_bytes());
    }
    Ok(texts)
}
