//! What the readers of the scan share, and what each counts of the precision of times.

use std::path::Path;

use serde::{Deserialize, Serialize};

use super::names::Lists;
use super::spread::Spread;
use crate::derive::DeriveError;
use crate::derive::face::event::{Event, MatingRow};
use crate::derive::mating::named::Named;
use crate::derive::mating::ticket::Ticket;
use crate::intake::Spellings;
use crate::settings::Plan;
use crate::store::Spill;

/// What every thread reads with.
pub struct Shared<'a> {
    /// The settings.
    pub plan: &'a Plan,
    /// How each source spells the names of end faces.
    pub spellings: &'a Spellings,
    /// Words met so far.
    pub lists: &'a Lists,
    /// Tickets that name an end face.
    pub named: &'a Named,
    /// All tickets.
    pub tickets: &'a [Ticket],
    /// How records are spread over buckets.
    pub spread: Spread,
    /// Where spills go.
    pub folder: &'a Path,
}

/// New spills of one reader.
pub fn spills(shared: &Shared) -> Result<(Spill<Event>, Spill<MatingRow>), DeriveError> {
    Ok((
        Spill::new(shared.folder, shared.spread.faces())?,
        Spill::new(shared.folder, shared.spread.matings())?,
    ))
}

/// Records whose time is known to the day only, and all, by table.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Precision {
    /// Looks, unreadable ones too.
    pub looks: (u64, u64),
    /// Cleanings.
    pub cleanings: (u64, u64),
    /// Matings.
    pub matings: (u64, u64),
    /// Faults, by their opening.
    pub faults: (u64, u64),
    /// End faces of the register whose service ends, by that end.
    pub end_faces: (u64, u64),
}

impl Precision {
    /// Adds what another reader met.
    pub fn merge(&mut self, other: Precision) {
        for (all, more) in [
            (&mut self.looks, other.looks),
            (&mut self.cleanings, other.cleanings),
            (&mut self.matings, other.matings),
            (&mut self.faults, other.faults),
            (&mut self.end_faces, other.end_faces),
        ] {
            *all = (all.0 + more.0, all.1 + more.1);
        }
    }
}

/// Counts a record, and whether only its day is known.
pub fn note(counter: &mut (u64, u64), by_day: bool) {
    counter.0 += u64::from(by_day);
    counter.1 += 1;
}
