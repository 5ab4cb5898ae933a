//! The quarters that a period is held against: the one before it, and the same one a year before.

use super::period::Period;
use super::pieces::Quarter;

/// Quarters of a year.
const YEAR: i32 = 4;

/// What a period is compared with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Compared {
    /// The quarter before it.
    pub quarter_before: Quarter,
    /// The same quarter a year before.
    pub year_before: Quarter,
}

/// What a period is compared with.
pub fn compared(period: &Period) -> Compared {
    let back = |quarters: i32| Quarter(period.quarter.0 - quarters);
    Compared { quarter_before: back(1), year_before: back(YEAR) }
}

/// The period and what it is compared with: what tables by week are kept for.
pub fn compared_quarters(period: &Period) -> [Quarter; 3] {
    let Compared { quarter_before, year_before } = compared(period);
    [period.quarter, quarter_before, year_before]
}

/// Whether a quarter is the one reviewed or one that it is compared with.
pub fn is_compared(quarter: Quarter, reviewed: Quarter) -> bool {
    [0, 1, YEAR].iter().any(|back| quarter.0 == reviewed.0 - back)
}
