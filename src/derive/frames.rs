//! The one file that names the frame engine: groups count tables into the cells of a measure.

use arrow::array::{Array, AsArray, RecordBatch};
use arrow::datatypes::{Int64Type, UInt32Type};
use polars::prelude::{
    Column, DataFrame, DataType, Expr, IntoLazy, PolarsError, SortMultipleOptions, col, lit,
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

/// One cell: its group's words, their places in the order of display, and its sums.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cell {
    /// By grouping column.
    pub group: Vec<String>,
    /// By grouping column: places in the order of display.
    pub places: Vec<u32>,
    /// By summed column.
    pub sums: Vec<i64>,
}

/// Which rows of a table count: each column must hold one of the words.
#[derive(Clone, Debug, Default)]
pub struct Only(Vec<(&'static str, Vec<String>)>);

impl Only {
    /// Every row.
    pub fn all() -> Only {
        Only::default()
    }

    /// Rows whose column holds one of these words, too.
    pub fn with<S: AsRef<str>>(mut self, column: &'static str, words: &[S]) -> Only {
        self.0.push((column, words.iter().map(|word| word.as_ref().to_owned()).collect()));
        self
    }
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

    /// Sums of `sums` by `by` over the rows that count, in the order of display.
    ///
    /// With no grouping column there is one cell, or none if no row counts.
    ///
    /// # Errors
    /// A column that the table does not have.
    pub fn cells(&self, only: &Only, by: &[&str], sums: &[&str]) -> Result<Vec<Cell>, DeriveError> {
        let totals: Vec<Expr> = sums.iter().map(|name| col(*name).sum()).collect();
        let grouped = self.grouped(&self.chosen(only), by, totals)?;
        self.read(&grouped, by, sums)
    }

    /// For clusters `within` the groups of `by`: how many have an `n`, the sums of `n` and of `y`
    /// over them, and the sums of n n, n y and y y, as the columns of each cell's sums.
    ///
    /// # Errors
    /// A column that the table does not have.
    pub fn cluster_sums(
        &self,
        only: &Only,
        by: &[&str],
        within: &[&str],
        [n, y]: [&str; 2],
    ) -> Result<Vec<Cell>, DeriveError> {
        let clusters: Vec<&str> =
            by.iter().chain(within.iter().filter(|column| !by.contains(column))).copied().collect();
        let inner =
            self.grouped(&self.chosen(only), &clusters, vec![col(n).sum(), col(y).sum()])?;
        let named = |expr: Expr, name: &str| expr.sum().alias(name);
        let sums = vec![
            named(col(n).gt(lit(0i64)).cast(DataType::Int64), "clusters"),
            named(col(n), "n"),
            named(col(y), "y"),
            named(col(n) * col(n), "nn"),
            named(col(n) * col(y), "ny"),
            named(col(y) * col(y), "yy"),
        ];
        let outer = group(inner, by, sums)?;
        self.read(&outer, by, &["clusters", "n", "y", "nn", "ny", "yy"])
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
    /// of the places: the places of every group, and its sums.
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
        let totals: Vec<Expr> = sums.iter().map(|name| col(*name).sum()).collect();
        values(&self.grouped(only, by, totals)?, by, sums)
    }

    /// Places of display of the wanted words; a plain number is its own place.
    pub fn places(&self, column: &str, wanted: &[String]) -> Vec<u32> {
        let Some(words) = self.words.get(column) else {
            return wanted.iter().filter_map(|word| word.parse().ok()).collect();
        };
        let named = words.iter().zip(0u32..).filter(|(word, _)| wanted.contains(word));
        named.map(|(_, place)| place).collect()
    }

    fn chosen(&self, only: &Only) -> Vec<(&'static str, Vec<u32>)> {
        only.0.iter().map(|(column, wanted)| (*column, self.places(column, wanted))).collect()
    }

    fn grouped(
        &self,
        only: &[(&str, Vec<u32>)],
        by: &[&str],
        sums: Vec<Expr>,
    ) -> Result<DataFrame, DeriveError> {
        let mut rows = self.frame.clone().lazy();
        for (column, places) in only {
            let any =
                places.iter().fold(lit(false), |any, place| any.or(col(*column).eq(lit(*place))));
            rows = rows.filter(any);
        }
        group(rows.collect()?, by, sums)
    }

    fn read(
        &self,
        cells: &DataFrame,
        by: &[&str],
        sums: &[&str],
    ) -> Result<Vec<Cell>, DeriveError> {
        let cell = |(places, sums): (Vec<u32>, Vec<i64>)| Cell {
            group: by.iter().zip(&places).map(|(name, place)| self.word(name, *place)).collect(),
            places,
            sums,
        };
        Ok(values(cells, by, sums)?.into_iter().map(cell).collect())
    }
}

/// The places and sums of every row of a grouped frame.
fn values(cells: &DataFrame, by: &[&str], sums: &[&str]) -> Result<Vec<Sums>, DeriveError> {
    let groups = by.iter().map(|name| cells.column(name)?.u32()).collect::<Result<Vec<_>, _>>()?;
    let totals =
        sums.iter().map(|name| cells.column(name)?.i64()).collect::<Result<Vec<_>, _>>()?;
    let row = |row: usize| {
        let places = groups.iter().map(|column| column.get(row).unwrap_or(0)).collect();
        let sums = totals.iter().map(|column| column.get(row).unwrap_or(0)).collect();
        (places, sums)
    };
    Ok((0..cells.height()).map(row).collect())
}

/// Groups, sums and puts in order.
fn group(rows: DataFrame, by: &[&str], sums: Vec<Expr>) -> Result<DataFrame, DeriveError> {
    if rows.height() == 0 {
        // Without rows there is no cell, not one of zeros.
        let empty = rows.lazy().group_by(by_or_constant(by)).agg(sums);
        // Grouping nothing by a constant makes one row of nothing.
        return Ok(empty.collect()?.head(Some(0)));
    }
    if by.is_empty() {
        return Ok(rows.lazy().select(sums).collect()?);
    }
    let keys: Vec<Expr> = by.iter().map(|name| col(*name)).collect();
    let sorted = rows
        .lazy()
        .group_by(keys)
        .agg(sums)
        .sort(by.iter().copied(), SortMultipleOptions::default());
    Ok(sorted.collect()?)
}

fn by_or_constant(by: &[&str]) -> Vec<Expr> {
    match by {
        [] => vec![lit(0u32).alias("all")],
        by => by.iter().map(|name| col(*name)).collect(),
    }
}
