//! What the stages that look at tickets hand on to others: all of it at hand on one machine, else what was handed to a bucket.

use std::borrow::Cow;
use std::collections::BTreeMap;

use bytemuck::{Pod, Zeroable};
use rustc_hash::{FxHashMap, FxHashSet};
use serde::{Deserialize, Serialize};

use crate::derive::DeriveError;
use crate::derive::facts::spills::VisitBuckets;
use crate::derive::mating::fault::{Faults, InForce};
use crate::derive::mating::handed::HandedFaults;
use crate::derive::mating::late::Signs;
use crate::derive::mating::named::NamedRow;
use crate::derive::mating::ticket::Numbered;
use crate::derive::mating::window::Windows;
use crate::derive::scan::cover::Attaching;
use crate::derive::scan::key::Key;
use crate::derive::share::input::Input;
use crate::derive::share::output::Output;
use crate::derive::share::packed::Packed;
use crate::derive::share::stage::Kind;
use crate::derive::share::states::State;
use crate::derive::share::work::Spilled;
use crate::store::Buckets;

/// Matings and end faces whose first look afterwards a fault was behind.
pub type Prompted = FxHashSet<(u64, Key)>;

/// Tickets as rows; none where all are at hand.
#[derive(Default)]
pub struct TicketRows {
    /// Those that name an end face, by bucket of end faces.
    pub named: Buckets<NamedRow>,
    /// All of them.
    pub tickets: Packed<Numbered>,
}

impl Spilled for TicketRows {
    fn handed(input: &Input) -> Result<TicketRows, DeriveError> {
        let tickets = Packed::handed(input, Kind::Tickets)?;
        Ok(TicketRows { named: input.take(Kind::Named)?, tickets })
    }

    fn hand_on(&self, output: &mut Output) -> Result<(), DeriveError> {
        output.rows(Kind::Named, &self.named)?;
        self.tickets.hand_on(output, Kind::Tickets)
    }
}

/// Numbers of the matings that tickets may belong to.
pub(super) enum WantedMatings<'a> {
    Here(FxHashSet<u64>),
    ByBucket(&'a Buckets<u64>),
}

impl WantedMatings<'_> {
    /// Those of a bucket, and more where all are at hand.
    pub(super) fn of_bucket(&self, bucket: usize) -> Result<Cow<'_, FxHashSet<u64>>, DeriveError> {
        Ok(match self {
            WantedMatings::Here(all) => Cow::Borrowed(all),
            WantedMatings::ByBucket(rows) => Cow::Owned(rows.read(bucket)?.into_iter().collect()),
        })
    }
}

/// The matings that tickets may belong to.
#[derive(Default)]
pub(super) struct InForces {
    /// By their numbers, in the worker that joined them.
    pub(super) here: FxHashMap<u64, InForce>,
    /// Those that were handed on.
    pub(super) rows: Packed<InForce>,
}

impl Spilled for InForces {
    fn handed(input: &Input) -> Result<InForces, DeriveError> {
        let rows = Packed::handed(input, Kind::InForce)?;
        Ok(InForces { here: FxHashMap::default(), rows })
    }

    fn hand_on(&self, output: &mut Output) -> Result<(), DeriveError> {
        output.pack(Kind::InForce, self.here.values())
    }
}

/// What tickets came to, apart from the faults.
pub(super) struct Attached {
    /// Which of them found a mating.
    pub(super) met: Met,
    /// What tickets show of how late they come.
    pub(super) signs: Signs,
    /// The window of every source.
    pub(super) windows: Windows,
}

/// Which tickets found a mating.
#[derive(Debug, Default, Serialize, Deserialize)]
pub struct Met {
    /// By place of the source: how many of the tickets opened since matings of their site were recorded found one.
    pub(super) found: BTreeMap<u16, Attaching>,
    /// Tickets whose mating record was ambiguous.
    pub(super) ambiguous: u64,
}

impl State for Met {
    fn merge(mut self, other: Met) -> Met {
        for (source, tickets) in other.found {
            let own = self.found.entry(source).or_default();
            own.tickets += tickets.tickets;
            own.attached += tickets.attached;
        }
        Met { ambiguous: self.ambiguous + other.ambiguous, ..self }
    }
}

/// The faults for those who describe matings: all of them, or those of each bucket of matings.
pub(super) enum AtHand {
    /// As the rules say, and under the other windows.
    Here(Faults, Vec<Faults>),
    /// The same by bucket.
    ByBucket(HandedFaults),
}

impl Default for AtHand {
    fn default() -> AtHand {
        AtHand::Here(Faults::default(), Vec::new())
    }
}

/// Faults of some matings, and the same under the other windows.
pub(super) type Near<'a> = (Cow<'a, Faults>, Cow<'a, [Faults]>);

impl AtHand {
    /// The faults of the matings of a bucket, of which the windows are at these places.
    pub(super) fn of_bucket(
        &self,
        bucket: usize,
        others: &[usize],
    ) -> Result<Near<'_>, DeriveError> {
        Ok(match self {
            AtHand::Here(faults, others) => (Cow::Borrowed(faults), Cow::Borrowed(others)),
            AtHand::ByBucket(handed) => {
                let (faults, others) = handed.read(bucket, others)?;
                (Cow::Owned(faults), Cow::Owned(others))
            }
        })
    }
}

/// Which visits a fault was behind that tell how an end came out of its mating.
pub(super) enum PromptedVisits {
    Here(Prompted),
    ByBucket(Buckets<PromptedRow>),
}

impl Default for PromptedVisits {
    fn default() -> PromptedVisits {
        PromptedVisits::Here(Prompted::default())
    }
}

/// A mating and its end. 24 bytes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Pod, Zeroable)]
#[repr(C)]
pub(super) struct PromptedRow {
    pub(super) mating: u64,
    pub(super) key: Key,
}

impl PromptedVisits {
    /// Those of the matings of a bucket, and more where all are at hand.
    pub(super) fn of_bucket(&self, bucket: usize) -> Result<Cow<'_, Prompted>, DeriveError> {
        Ok(match self {
            PromptedVisits::Here(all) => Cow::Borrowed(all),
            PromptedVisits::ByBucket(rows) => {
                let rows = rows.read(bucket)?.into_iter();
                Cow::Owned(rows.map(|row| (row.mating, row.key)).collect())
            }
        })
    }
}

/// The rows that attaching makes.
#[derive(Default)]
pub(super) struct AttachedRows {
    /// Visits that waited.
    pub(super) visits: VisitBuckets,
    /// Faults.
    pub(super) faults: AtHand,
    /// Visits that were prompted.
    pub(super) prompted: PromptedVisits,
}

impl Spilled for AttachedRows {
    fn handed(input: &Input) -> Result<AttachedRows, DeriveError> {
        let handed =
            HandedFaults { faults: input.take(Kind::Faults)?, times: input.take(Kind::FaceTimes)? };
        Ok(AttachedRows {
            // Those of pass one and these are one kind, which pass one took.
            visits: VisitBuckets::default(),
            faults: AtHand::ByBucket(handed),
            prompted: PromptedVisits::ByBucket(input.take(Kind::Prompted)?),
        })
    }

    fn hand_on(&self, output: &mut Output) -> Result<(), DeriveError> {
        self.visits.hand_on(output)?;
        if let AtHand::ByBucket(handed) = &self.faults {
            output.rows(Kind::Faults, &handed.faults)?;
            output.rows(Kind::FaceTimes, &handed.times)?;
        }
        match &self.prompted {
            PromptedVisits::Here(_) => Ok(()),
            PromptedVisits::ByBucket(rows) => output.rows(Kind::Prompted, rows),
        }
    }
}
