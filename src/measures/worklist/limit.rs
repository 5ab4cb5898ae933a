//! After how many cleaning cycles an end face is given up (5.2, 5.11).

use crate::measures::cycles::{By, Quantity, Table};

/// Common practice: three to five cycles, then the end face is repolished or replaced. The longer is
/// taken, so that nothing is thrown away that practice would still clean.
const COMMON_PRACTICE: u32 = 5;

/// The limit, and where it is from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::measures) struct CycleLimit {
    pub cycles: u32,
    /// These records' own, by the stopping rule of 5.2; else common practice.
    pub of_records: bool,
}

/// The advice of the table of cycles for the whole fleet, if it may be ranked by: the same number that stands there; else
/// that of common practice.
pub(in crate::measures) fn cycle_limit(cycles: &Table) -> CycleLimit {
    let rows = cycles.rows_of(By::Fleet, Quantity::StoppingLimit);
    let advised = rows.filter(|row| row.is_firm()).find_map(|row| row.own.advised);
    match advised {
        Some(cycles) => CycleLimit { cycles, of_records: true },
        None => CycleLimit { cycles: COMMON_PRACTICE, of_records: false },
    }
}
