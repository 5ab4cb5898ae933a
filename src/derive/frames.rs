//! The one file that names the frame engine: groups count tables into the cells of a measure.

use arrow::array::{Array, AsArray, RecordBatch};
use arrow::datatypes::{Int64Type, UInt32Type};
use polars::prelude::{
    BooleanChunked, Column, DataFrame, GroupsIndicator, NewChunkedArray, PlSmallStr, PolarsError,
};
use rustc_hash::FxHashMap;

use super::DeriveError;

impl From<PolarsError> for DeriveError {
    fn from(error: PolarsError) -> Self {
        DeriveError::Frame(error.to_string())
    }
}

/// One count table, ready to be grouped.
pub struct Frame {
    frame: DataFrame,
    words: FxHashMap<String, Vec<String>>,
}

/// The places of a group in the order of display, column by column, and its sums.
type Sums = (Vec<u32>, Vec<i64>);

impl Frame {
    /// Takes over a count table.
    ///
    /// # Errors
    /// A column of a type that no count table has.
    pub fn of(batch: &RecordBatch) -> Result<Frame, DeriveError> {
        let mut columns = Vec::with_capacity(batch.num_columns());
        let mut words = FxHashMap::default();
        for (field, array) in batch.schema().fields().iter().zip(batch.columns()) {
            let name = field.name().as_str();
            let column = if let Some(codes) = array.as_dictionary_opt::<UInt32Type>() {
                let list = codes.values().as_string::<i32>();
                words.insert(name.to_owned(), list.iter().flatten().map(str::to_owned).collect());
                Column::new(name.into(), codes.keys().values().to_vec())
            } else if let Some(numbers) = array.as_primitive_opt::<UInt32Type>() {
                Column::new(name.into(), numbers.values().to_vec())
            } else if let Some(counts) = array.as_primitive_opt::<Int64Type>() {
                Column::new(name.into(), counts.values().to_vec())
            } else {
                return Err(DeriveError::Frame(format!("column {name}: {}", array.data_type())));
            };
            columns.push(column);
        }
        Ok(Frame { frame: DataFrame::new(batch.num_rows(), columns)?, words })
    }

    /// The words of a grouping column in the order of display.
    pub fn words(&self, column: &str) -> &[String] {
        self.words.get(column).map_or(&[], Vec::as_slice)
    }

    /// The word of a column at a place of display; a plain number is its own word.
    pub fn word(&self, column: &str, place: u32) -> String {
        match self.words.get(column) {
            Some(words) => words.get(place as usize).cloned().unwrap_or_default(),
            None => place.to_string(),
        }
    }

    /// Sums of `sums` by `by` over the rows whose columns hold one of the wanted places each, in the order
    /// of the places: the places of every group, and its sums. Sums stop at the largest integer instead of
    /// wrapping round, as those of count tables do.
    ///
    /// With no grouping column there is one group, or none if no row counts.
    ///
    /// # Errors
    /// A column that the table does not have.
    pub fn sums(
        &self,
        only: &[(&str, Vec<u32>)],
        by: &[&str],
        sums: &[&str],
    ) -> Result<Vec<Sums>, DeriveError> {
        let rows = self.rows(only)?;
        let codes = by.iter().map(|name| codes(&rows, name)).collect::<Result<Vec<_>, _>>()?;
        let counts = sums.iter().map(|name| counts(&rows, name)).collect::<Result<Vec<_>, _>>()?;
        let total = |rows: &mut dyn Iterator<Item = usize>| {
            let mut sums = vec![0_i64; counts.len()];
            for row in rows {
                for (sum, counts) in sums.iter_mut().zip(&counts) {
                    *sum = sum.saturating_add(counts[row]);
                }
            }
            sums
        };
        if rows.height() == 0 {
            return Ok(Vec::new());
        }
        if by.is_empty() {
            return Ok(vec![(Vec::new(), total(&mut (0..rows.height())))]);
        }
        let places = |row: usize| codes.iter().map(|codes| codes[row]).collect::<Vec<u32>>();
        let found = rows.group_by(by.iter().copied())?;
        let group = |group: GroupsIndicator| match group {
            GroupsIndicator::Idx((first, rows)) => {
                (places(first as usize), total(&mut rows.iter().map(|row| *row as usize)))
            }
            GroupsIndicator::Slice([first, count]) => {
                let first = first as usize;
                (places(first), total(&mut (first..first + count as usize)))
            }
        };
        let mut groups: Vec<Sums> = found.get_groups().iter().map(group).collect();
        groups.sort_unstable_by(|a, b| a.0.cmp(&b.0));
        Ok(groups)
    }

    /// Places of display of the wanted words; a plain number is its own place.
    pub fn places(&self, column: &str, wanted: &[String]) -> Vec<u32> {
        let Some(words) = self.words.get(column) else {
            return wanted.iter().filter_map(|word| word.parse().ok()).collect();
        };
        let named = words.iter().zip(0u32..).filter(|(word, _)| wanted.contains(word));
        named.map(|(_, place)| place).collect()
    }

    /// The rows that count.
    fn rows(&self, only: &[(&str, Vec<u32>)]) -> Result<DataFrame, DeriveError> {
        let mut counts = vec![true; self.frame.height()];
        for (column, places) in only {
            for (counts, code) in counts.iter_mut().zip(codes(&self.frame, column)?) {
                *counts &= places.contains(&code);
            }
        }
        if counts.iter().all(|counts| *counts) {
            return Ok(self.frame.clone());
        }
        Ok(self.frame.filter(&BooleanChunked::from_slice(PlSmallStr::EMPTY, &counts))?)
    }
}

/// A column of codes.
fn codes(rows: &DataFrame, name: &str) -> Result<Vec<u32>, DeriveError> {
    Ok(rows.column(name)?.u32()?.into_no_null_iter().collect())
}

/// A column of counts.
fn counts(rows: &DataFrame, name: &str) -> Result<Vec<i64>, DeriveError> {
    Ok(rows.column(name)?.i64()?.into_no_null_iter().collect())
}
