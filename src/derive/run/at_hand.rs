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
use crate::derive::mating::window::Windows;
use crate::derive::scan::cover::Attaching;
use crate::derive::scan::key::Key;
use crate::derive::share::input::Input;
use crate::derive::share::output::Output;
use crate::derive::share::stage::Kind;
use crate::derive::share::states::State;
use crate::derive::share::work::Spilled;
use crate::store::Buckets;

/// Matings and end faces whose first look afterwards a fault was behind.
pub type Prompted = FxHashSet<(u64, Key)>;

/// Tickets that name an end face, by bucket of end faces; none where all tickets are at hand.
#[derive(Default)]
pub struct NamedRows(pub Buckets<NamedRow>);

impl Spilled for NamedRows {
    fn handed(input: &Input) -> Result<NamedRows, DeriveError> {
        Ok(NamedRows(input.take(Kind::Named)?))
    }

    fn hand_on(&self, output: &mut Output) -> Result<(), DeriveError> {
        output.rows(Kind::Named, &self.0)
    }
}

/// Numbers of the matings that tickets may belong to.
pub(super) enum WantedMatings {
    Here(FxHashSet<u64>),
    ByBucket(Buckets<u64>),
}

impl Default for WantedMatings {
    fn default() -> WantedMatings {
        WantedMatings::Here(FxHashSet::default())
    }
}

impl WantedMatings {
    /// Those of a bucket, and more where all are at hand.
    pub(super) fn of_bucket(&self, bucket: usize) -> Result<Cow<'_, FxHashSet<u64>>, DeriveError> {
        Ok(match self {
            WantedMatings::Here(all) => Cow::Borrowed(all),
            WantedMatings::ByBucket(rows) => Cow::Owned(rows.read(bucket)?.into_iter().collect()),
        })
    }
}

impl Spilled for WantedMatings {
    fn handed(input: &Input) -> Result<WantedMatings, DeriveError> {
        Ok(WantedMatings::ByBucket(input.take(Kind::Wanted)?))
    }

    fn hand_on(&self, output: &mut Output) -> Result<(), DeriveError> {
        match self {
            WantedMatings::Here(_) => Ok(()),
            WantedMatings::ByBucket(rows) => output.rows(Kind::Wanted, rows),
        }
    }
}

/// The matings that tickets may belong to, by their numbers.
#[derive(Default)]
pub(super) struct InForces(pub(super) FxHashMap<u64, InForce>);

impl Spilled for InForces {
    fn handed(input: &Input) -> Result<InForces, DeriveError> {
        let mut all = FxHashMap::default();
        input.unpack(Kind::InForce, |mating: InForce| {
            all.insert(mating.number, mating);
            Ok(())
        })?;
        Ok(InForces(all))
    }

    fn hand_on(&self, output: &mut Output) -> Result<(), DeriveError> {
        output.pack(Kind::InForce, self.0.values())
    }
}

/// What tickets came to, apart from the faults.
#[derive(Debug, Serialize, Deserialize)]
pub struct Attached {
    /// By place of the source: how many of the tickets opened since matings of their site were recorded found one.
    pub(super) found: BTreeMap<u16, Attaching>,
    /// What tickets show of how late they come.
    pub(super) signs: Signs,
    /// The window of every source.
    pub(super) windows: Windows,
    /// Tickets whose mating record was ambiguous.
    pub(super) ambiguous: u64,
}

impl State for Attached {
    /// One worker looks at all tickets, so there is one.
    fn merge(self, _: Attached) -> Attached {
        self
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
