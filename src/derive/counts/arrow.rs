//! A count table as an Arrow batch: dictionary codes for words, in the order readers expect.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use arrow::array::{ArrayRef, DictionaryArray, Int64Array, RecordBatch, StringArray, UInt32Array};
use arrow::datatypes::{DataType, Field, Schema, UInt32Type};

use super::all::Counts;
use super::laid_out::laid_out;
use super::table::AnyTable;
use crate::calendar::Calendar;
use crate::derive::DeriveError;
use crate::derive::scan::names::Glossary;

/// The table as Arrow: grouping columns as Dictionary(UInt32, Utf8) whose codes sort in the order
/// of display (plain numbers as UInt32), then the counts as Int64; rows ordered by the groups. What each
/// column means stands in its metadata, for a figure with its unit.
///
/// # Errors
/// Only where Arrow refuses the arrays.
pub fn to_arrow(
    table: &dyn AnyTable,
    glossary: &Glossary,
    calendar: &Calendar,
) -> Result<RecordBatch, DeriveError> {
    let about = table.about();
    let (words, cells) = laid_out(table, glossary, calendar);
    let mut fields = Vec::with_capacity(about.columns.len() + about.figures.len());
    let mut columns: Vec<ArrayRef> = Vec::with_capacity(fields.capacity());
    for ((column, codes), words) in about.columns.iter().zip(cells.codes).zip(words) {
        let codes = UInt32Array::from_iter_values(codes.iter().map(|code| code as u32));
        let array: ArrayRef = match words {
            None => Arc::new(codes),
            Some(words) => {
                let words = Arc::new(StringArray::from(words));
                Arc::new(DictionaryArray::<UInt32Type>::try_new(codes, words)?)
            }
        };
        let said = HashMap::from([("doc".to_owned(), column.doc.to_owned())]);
        let field = Field::new(column.name, array.data_type().clone(), false);
        fields.push(field.with_metadata(said));
        columns.push(array);
    }
    for (figure, counts) in about.figures.iter().zip(cells.counts) {
        let said = [("doc", figure.doc), ("unit", figure.unit.word())];
        let said = said.map(|(key, word)| (key.to_owned(), word.to_owned()));
        let field = Field::new(figure.name, DataType::Int64, false);
        fields.push(field.with_metadata(HashMap::from(said)));
        columns.push(Arc::new(Int64Array::from_iter_values(counts.iter())));
    }
    let said = HashMap::from([("doc".to_owned(), about.doc.to_owned())]);
    Ok(RecordBatch::try_new(Arc::new(Schema::new_with_metadata(fields, said)), columns)?)
}

/// Every count table as Arrow, by name.
///
/// # Errors
/// Only where Arrow refuses the arrays.
pub fn all_to_arrow(
    counts: &Counts,
    glossary: &Glossary,
    calendar: &Calendar,
) -> Result<BTreeMap<&'static str, RecordBatch>, DeriveError> {
    let tables = counts.tables().into_iter();
    let named =
        |table: &dyn AnyTable| Ok((table.about().name, to_arrow(table, glossary, calendar)?));
    tables.map(named).collect()
}
