//! Months that the records of each site really cover.

use super::declared::{By, Own, Quantity, Row, Table};
use super::sources::Sources;
use crate::derive::DeriveError;
use crate::measures::months::{Covered, short_history};
use crate::measures::results::Group;

/// Of the fleet and of every site: months recorded, and of those the months in which its faults are known.
pub(super) fn rows(from: &Sources, table: &mut Table) -> Result<(), DeriveError> {
    let months = &from.evidence.months;
    let asked = 3.0 * from.evidence.derived.period.look_back.len() as f64;
    let mut push = |site: Option<&str>, covered: Covered| {
        let group = Group { site: site.map(str::to_owned), ..Group::default() };
        let by = if site.is_some() { By::Site } else { By::Fleet };
        let recorded = [(Quantity::MonthsRecorded, covered.recorded)];
        // A site whose faults nobody records is no short one.
        let known = (covered.faults > 0.0).then_some((Quantity::MonthsFollowed, covered.faults));
        for (quantity, months) in recorded.into_iter().chain(known) {
            let method = "days of calendar months";
            let row = Row::figure(by, group.clone(), quantity, months, method, Own::default());
            table.rows.push(Row { n: asked, ..row }.flagged(short_history(months)));
        }
    };
    push(None, months.named(None));
    for (site, covered) in months.sites().filter(|(_, covered)| covered.recorded > 0.0) {
        push(Some(site), covered);
    }
    Ok(())
}
