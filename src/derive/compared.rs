//! The quarters that a period is compared with (5.9), and of which clusters are kept.

use super::calendar::Quarter;
use super::period::Period;

/// Words of the comparisons, and how many quarters back each looks.
const BACK: [(&str, i32); 2] = [("quarter-before", 1), ("year-before", 4)];

/// The quarter before the period and the same quarter a year before, each with its word.
pub fn compared(period: &Period) -> [(&'static str, Quarter); 2] {
    BACK.map(|(word, back)| (word, Quarter(period.quarter.0 - back)))
}

/// Whether a quarter is the one reviewed or one that it is compared with.
pub(super) fn is_compared(quarter: Quarter, reviewed: Quarter) -> bool {
    quarter == reviewed || BACK.iter().any(|(_, back)| quarter.0 == reviewed.0 - back)
}
