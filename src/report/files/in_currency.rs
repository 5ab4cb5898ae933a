//! Money as files give it: in units of the fleet's currency, with hundredths. Inside the program it is whole minor units.

use crate::measures::Unit;
use crate::measures::results::{Cells, Column, Kept};

/// Minor units in a unit of currency.
const MINOR: f64 = 100.0;
/// The columns that are in the unit of their row.
const OF_ROW: [&str; 3] = ["estimate", "low", "high"];

/// Turns minor units of all columns of a table into units of currency: of columns of money, and of estimates in rows whose
/// `unit` is money.
pub(in crate::report) fn in_currency(columns: &mut [Column]) {
    let unit = columns.iter().find(|column| column.spec.name == "unit");
    let is_money: Vec<bool> = match unit.map(|column| &column.cells) {
        Some(Cells::Text(units)) => {
            units.iter().map(|unit| unit.as_deref() == Some(Unit::Money.word())).collect()
        }
        _ => Vec::new(),
    };
    for column in columns {
        if let (Unit::Money, Cells::Integer(cells)) = (column.spec.unit, &column.cells) {
            let major = cells.iter().map(|cell| cell.map(|minor| minor as f64 / MINOR));
            column.cells = Cells::Real(major.collect());
            column.spec.kept = Kept::Real;
        } else if OF_ROW.contains(&column.spec.name)
            && let Cells::Real(cells) = &mut column.cells
        {
            for (cell, _) in cells.iter_mut().zip(&is_money).filter(|(_, is_money)| **is_money) {
                *cell = cell.map(|minor| minor / MINOR);
            }
        }
    }
}

/// A number of money in units of currency.
pub(in crate::report) fn major(minor: f64) -> f64 {
    minor.round() / MINOR
}
