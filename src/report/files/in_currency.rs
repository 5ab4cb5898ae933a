//! Money as files give it: in units of the fleet's currency, with hundredths. Inside the program it is whole minor units.

use crate::measures::Unit;
use crate::measures::results::{Cells, Column, Kept};
use crate::report::words::number;

/// The columns whose unit stands in another column of their row, and that column.
const OF_ROW: [(&str, &str); 5] = [
    ("estimate", "unit"),
    ("low", "unit"),
    ("high", "unit"),
    ("input_low", "input_unit"),
    ("input_high", "input_unit"),
];

/// Turns minor units of all columns of a table into units of currency: of columns of money, and of numbers in rows that say
/// their unit is money.
pub(in crate::report) fn in_currency(columns: &mut [Column]) {
    let is_money = |name: &str| -> Vec<bool> {
        match columns.iter().find(|column| column.spec.name == name).map(|column| &column.cells) {
            Some(Cells::Text(units)) => {
                units.iter().map(|unit| unit.as_deref() == Some(Unit::Money.word())).collect()
            }
            _ => Vec::new(),
        }
    };
    let of_row = OF_ROW.map(|(name, unit)| (name, is_money(unit)));
    for column in columns {
        if let (Unit::Money, Cells::Integer(cells)) = (column.spec.unit, &column.cells) {
            let major = cells.iter().map(|cell| cell.map(|minor| number::major(minor as f64)));
            column.cells = Cells::Real(major.collect());
            column.spec.kept = Kept::Real;
        } else if let Some((_, is_money)) =
            of_row.iter().find(|(name, _)| *name == column.spec.name)
            && let Cells::Real(cells) = &mut column.cells
        {
            for (cell, _) in cells.iter_mut().zip(is_money).filter(|(_, is_money)| **is_money) {
                *cell = cell.map(number::major);
            }
        }
    }
}

/// An estimate of money in units of currency, to the hundredth.
pub(in crate::report) fn major(minor: f64) -> f64 {
    number::major(minor.round())
}
