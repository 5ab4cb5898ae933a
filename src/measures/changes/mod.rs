//! 5.9, Q9: what has really changed since the quarter before, and since the same quarter a year before.
//!
//! Shares by their difference, rates by their ratio, each with an interval that rests on the scatter
//! of both quarters. Whether a change is more than chance is judged over two lists of comparisons against one quarter, the
//! fleet's own numbers and all others: q by Benjamini & Hochberg (1995) over the rows that are not flagged.

mod declared;
mod pair;
mod rates;
mod shares;

pub use declared::*;

use crate::derive::{Compared, DeriveError, compared};
use crate::measures::evidence::Evidence;
use crate::stats::benjamini_hochberg;
use pair::Pair;

/// The table of changes.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn changes(evidence: &Evidence) -> Result<Table, DeriveError> {
    let mut table = Table::default();
    let Compared { quarter_before, year_before } = compared(&evidence.derived.period);
    for (against, quarter) in
        [(Against::QuarterBefore, quarter_before), (Against::YearBefore, year_before)]
    {
        let pair = Pair::of(evidence, against, quarter);
        let from = table.rows.len();
        self::shares::shares(evidence, &pair, &mut table)?;
        self::rates::rates(evidence, &pair, &mut table)?;
        // What headlines is asked every quarter, whatever else is looked at: it is a family of its own.
        adjust(&mut table.rows[from..], |row| row.by == By::Fleet);
        adjust(&mut table.rows[from..], |row| row.by != By::Fleet);
    }
    Ok(table)
}

/// The q of every firm row of a list.
fn adjust(rows: &mut [Row], is_listed: fn(&Row) -> bool) {
    let firm: Vec<&mut Row> =
        rows.iter_mut().filter(|row| row.is_firm() && is_listed(row)).collect();
    let p_values: Vec<f64> = firm.iter().map(|row| row.own.p).collect();
    for (row, q) in firm.into_iter().zip(benjamini_hochberg(&p_values)) {
        row.own.q = Some(q);
    }
}
