//! After how many cleaning cycles an end face is given up (5.2, 5.11).

use crate::measures::cycles::{By, Quantity, Row, Table};

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

/// The limit that the table of cycles states for the whole fleet, if it does and may be ranked by; else
/// that of common practice. Where the records say only that so many cycles pay and have not seen more
/// (`at_least`), that number if it is above common practice.
pub(in crate::measures) fn cycle_limit(cycles: &Table) -> CycleLimit {
    let stated = |row: &Row| match (row.estimate, row.own.at_least) {
        (None, Some(least)) => Some(f64::from(least)).filter(|_| least > COMMON_PRACTICE),
        (estimate, _) => estimate,
    };
    let rows = cycles.rows_of(By::Fleet, Quantity::StoppingLimit);
    let limit = rows.filter(|row| row.is_firm()).find_map(stated);
    match limit.filter(|limit| (1.0..=1e6).contains(limit)) {
        Some(limit) => CycleLimit { cycles: limit.round() as u32, of_records: true },
        None => CycleLimit { cycles: COMMON_PRACTICE, of_records: false },
    }
}
