//! The groups of 5.5's groupings.

use super::declared::By;
use crate::by;
use crate::derive::counts::{self, Family, Site, Stage};
use crate::derive::{ByColumns, DeriveError};
use crate::measures::evidence::Evidence;
use crate::measures::results::Group;

/// The groups of a grouping that have follow-up in the look-back, in the order of display.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn groups(evidence: &Evidence, by: By) -> Result<Vec<Group>, DeriveError> {
    let [site, stage, family] = by.parts();
    let mut columns: ByColumns<counts::FollowUp> = by!();
    if site {
        columns = columns.and::<Site>();
    }
    if stage {
        columns = columns.and::<Stage>();
    }
    if family {
        columns = columns.and::<Family>();
    }
    let found = evidence.groups(&evidence.looked_back(), &columns)?;
    Ok(found.iter().map(|group| Group::of(&columns.columns(), &group.words)).collect())
}
