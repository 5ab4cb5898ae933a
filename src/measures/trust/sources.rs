//! What the topics of trust read.

use super::declared::{By, Own, Quantity, Row};
use crate::measures::coverage;
use crate::measures::evidence::Evidence;
use crate::measures::results::Group;
use crate::measures::skipped_cost;
use crate::measures::skipped_cost::site_weeks::SiteWeeks;
use crate::store::FileAccount;

/// The counts, the accounts of intake, and tables of other questions: `review` makes trust last, so any of them can be
/// added here.
pub(in crate::measures) struct Sources<'a> {
    pub evidence: &'a Evidence<'a>,
    /// What became of the rows of every file.
    pub accounts: &'a [FileAccount],
    pub coverage: &'a coverage::Table,
    pub skipped_cost: &'a skipped_cost::Table,
    /// What the headline of skipped cost rests on.
    pub site_weeks: &'a SiteWeeks<'a>,
}

/// A count of the whole fleet.
pub(super) fn of_fleet(quantity: Quantity, count: i64, own: Own) -> Row {
    Row::count(By::Fleet, Group::default(), quantity, count, own)
}
