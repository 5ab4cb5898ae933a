//! A count table as an Arrow batch: dictionary codes for words, in the order readers expect.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use arrow::array::{ArrayRef, DictionaryArray, Int64Array, RecordBatch, StringArray, UInt32Array};
use arrow::datatypes::{DataType, Field, Schema, UInt32Type};

use super::all::Counts;
use super::codes::Dimension;
use super::table::{AnyTable, Columns};
use crate::calendar::Calendar;
use crate::derive::DeriveError;
use crate::derive::scan::names::{Glossary, Listing, Names};

/// Words of one dimension in the order of display, and the place of each code.
struct Places {
    words: Vec<String>,
    of_code: Option<Vec<u32>>,
}

fn listed(list: &(Names, usize)) -> Places {
    let Listing { words, places } = Listing::of(list);
    Places { words, of_code: Some(places) }
}

fn numbered(count: u32, word: impl Fn(u32) -> String) -> Places {
    Places { words: (0..count).map(word).collect(), of_code: None }
}

/// The words of a dimension; none for plain numbers.
fn places(dimension: Dimension, glossary: &Glossary, calendar: &Calendar) -> Option<Places> {
    Some(match dimension {
        Dimension::Number => return None,
        Dimension::Quarter => {
            numbered(calendar.quarters.count(), |piece| calendar.quarter(piece).to_string())
        }
        Dimension::Month => numbered(calendar.months.count(), |piece| calendar.month(piece)),
        Dimension::Week => numbered(calendar.weeks.count(), |piece| calendar.week(piece)),
        Dimension::Words(words) => {
            numbered(words.len() as u32, |code| words[code as usize].to_owned())
        }
        Dimension::Site => listed(&glossary.site),
        Dimension::Stage => listed(&glossary.stage),
        Dimension::Family => listed(&glossary.family),
        Dimension::Supplier => listed(&glossary.supplier),
        Dimension::Method => listed(&glossary.method),
        Dimension::Device => listed(&glossary.device),
        Dimension::Criteria => listed(&glossary.criteria),
        Dimension::Cause => listed(&glossary.cause),
        Dimension::Source => listed(&glossary.source),
    })
}

/// The words of every column in the order of display, none of plain numbers; and the cells, codes exchanged for the
/// places of their words, in the order of these.
pub(in crate::derive) fn laid_out(
    table: &dyn AnyTable,
    glossary: &Glossary,
    calendar: &Calendar,
) -> (Vec<Option<Vec<String>>>, Columns) {
    let columns = table.about().columns.iter();
    let places: Vec<Option<Places>> =
        columns.map(|column| places(column.dimension, glossary, calendar)).collect();
    let place = |column: usize, code: u32| {
        let of_code = places[column].as_ref().and_then(|places| places.of_code.as_ref());
        of_code.map_or(code, |of_code| of_code.get(code as usize).copied().unwrap_or(of_code[0]))
    };
    let cells = table.columns(&place);
    (places.into_iter().map(|places| places.map(|places| places.words)).collect(), cells)
}

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
