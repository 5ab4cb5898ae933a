//! A count table as an Arrow batch: dictionary codes for words, in the order readers expect.

use std::sync::Arc;

use arrow::array::{ArrayRef, DictionaryArray, Int64Array, RecordBatch, StringArray, UInt32Array};
use arrow::datatypes::{DataType, Field, Schema, UInt32Type};
use rustc_hash::FxHashMap;

use super::table::{CountTable, Dimension};
use crate::derive::DeriveError;
use crate::derive::calendar::pieces::Calendar;
use crate::derive::scan::names::{Glossary, Names};

/// Words of one dimension in the order of display, and the place of each code.
struct Places {
    words: Vec<String>,
    of_code: Option<Vec<u32>>,
}

fn listed(list: &(Names, usize)) -> Places {
    let (names, given) = list;
    let of_code = names.places(*given);
    let mut words = vec![String::new(); names.len()];
    for (code, place) in of_code.iter().enumerate() {
        words[*place as usize] = names.word(code as u32).to_owned();
    }
    Places { words, of_code: Some(of_code) }
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
    })
}

/// The table as Arrow: grouping columns as Dictionary(UInt32, Utf8) whose codes sort in the order
/// of display (plain numbers as UInt32), then the counts as Int64; rows ordered by the groups.
///
/// # Errors
/// Only where Arrow refuses the arrays.
pub fn to_arrow<const D: usize, const M: usize>(
    table: &CountTable<D, M>,
    glossary: &Glossary,
    calendar: &Calendar,
) -> Result<RecordBatch, DeriveError> {
    let places = table.dimensions.map(|(_, dimension)| places(dimension, glossary, calendar));
    let mut rows = table.cells();
    for (cell, _) in &mut rows {
        for (code, places) in cell.iter_mut().zip(&places) {
            if let Some(of_code) = places.as_ref().and_then(|places| places.of_code.as_ref()) {
                *code = of_code.get(*code as usize).copied().unwrap_or(of_code[0]);
            }
        }
    }
    rows.sort_unstable();
    let mut fields = Vec::with_capacity(D + M);
    let mut columns: Vec<ArrayRef> = Vec::with_capacity(D + M);
    for (at, ((name, _), places)) in table.dimensions.iter().zip(places).enumerate() {
        let codes = UInt32Array::from_iter_values(rows.iter().map(|(cell, _)| cell[at]));
        let column: ArrayRef = match places {
            None => Arc::new(codes),
            Some(places) => {
                let words = Arc::new(StringArray::from(places.words));
                Arc::new(DictionaryArray::<UInt32Type>::try_new(codes, words)?)
            }
        };
        fields.push(Field::new(*name, column.data_type().clone(), false));
        columns.push(column);
    }
    for (at, name) in table.measures.iter().enumerate() {
        fields.push(Field::new(*name, DataType::Int64, false));
        columns.push(Arc::new(Int64Array::from_iter_values(
            rows.iter().map(|(_, counts)| counts[at]),
        )));
    }
    Ok(RecordBatch::try_new(Arc::new(Schema::new(fields)), columns)?)
}

/// The count tables that are grouped, as Arrow, by name: all but `site_weeks`, the largest by far, which
/// is read cell by cell.
///
/// # Errors
/// Only where Arrow refuses the arrays.
pub fn all_to_arrow(
    counts: &crate::derive::Counts,
    glossary: &Glossary,
    calendar: &Calendar,
) -> Result<FxHashMap<&'static str, RecordBatch>, DeriveError> {
    let mut batches = FxHashMap::default();
    macro_rules! put {
        ($($($part:ident).+),+) => {
            $(
                let table = &counts.$($part).+;
                batches.insert(table.name, to_arrow(table, glossary, calendar)?);
            )+
        };
    }
    put!(
        visits,
        suppliers,
        work_orders,
        site_days,
        first_looks,
        cycles,
        cycle_trials,
        cleanings,
        matings,
        mating_weeks,
        mating_clusters,
        follow_up,
        in_force,
        since_mating,
        variants,
        faults,
        site_months,
        unreadable,
        entry.passages,
        entry.weeks,
        entry.loads,
        entry.second_looks
    );
    counts.rates.to_arrow(glossary, calendar, &mut batches)?;
    Ok(batches)
}
