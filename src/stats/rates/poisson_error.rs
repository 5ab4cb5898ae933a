//! What a Poisson regression needs of its rows.
//!
//! Promises that rows that pass can be fitted without overflow. Stops at single values: columns that
//! determine each other show in the fit.

use super::poisson_regression::PoissonData;
use thiserror::Error;

/// Why there is no fit.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum PoissonError {
    /// A slice is not as long as the events.
    #[error("{what} has {found} values for {expected} rows")]
    Lengths {
        /// Which slice.
        what: &'static str,
        /// Its length.
        found: usize,
        /// Length of the events.
        expected: usize,
    },
    /// A value is not finite, or an event count is negative.
    #[error("{what} has a value that cannot be used in row {row}")]
    Value {
        /// Which slice.
        what: &'static str,
        /// Row, from 0.
        row: usize,
    },
    /// A column is a combination of the ones before it.
    #[error("column {column} is determined by the columns before it")]
    Collinear {
        /// Column, from 0.
        column: usize,
    },
    /// No rows, no columns or no events.
    #[error("nothing to fit: {rows} rows, {columns} columns, {events} events")]
    Empty {
        /// Rows.
        rows: usize,
        /// Columns.
        columns: usize,
        /// Events, rounded.
        events: u64,
    },
}

/// Refuses rows that do not make a regression.
pub(super) fn check(data: &PoissonData) -> Result<(), PoissonError> {
    let rows = data.events.len();
    let same = |what, found| match found == rows {
        true => Ok(()),
        false => Err(PoissonError::Lengths { what, found, expected: rows }),
    };
    same("offset", data.offset.len())?;
    same("clusters", data.clusters.map_or(rows, <[u64]>::len))?;
    for column in data.columns {
        same("a column", column.len())?;
    }
    // Wider numbers than these cannot come from counts, and their exponentials overflow.
    let within = |what, values: &[f64], least: f64, most: f64| {
        let bad = values.iter().position(|v| !(least..=most).contains(v));
        bad.map_or(Ok(()), |row| Err(PoissonError::Value { what, row }))
    };
    within("events", data.events, 0.0, 1e15)?;
    within("offset", data.offset, -100.0, 100.0)?;
    for column in data.columns {
        within("a column", column, -1e9, 1e9)?;
    }
    let events: f64 = data.events.iter().sum();
    if data.columns.is_empty() || events <= 0.0 {
        let (columns, events) = (data.columns.len(), events.round() as u64);
        return Err(PoissonError::Empty { rows, columns, events });
    }
    Ok(())
}
