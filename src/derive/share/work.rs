//! How much of the derivation is computed here.

use std::sync::Mutex;

use super::input::Input;
use super::output::Output;
use super::stage::{Kind, Stage};
use super::states::{State, States};
use crate::derive::DeriveError;
use crate::derive::counts::Counts;
use crate::derive::scan::spread::{MOST_BUCKETS, MOST_SHARED_BUCKETS};

/// How much of the derivation is computed here.
pub enum Work {
    /// All of it.
    Whole,
    /// A share of one stage; of the stages before it is known what they came to.
    Share(Box<Share>),
    /// Nothing: what every stage came to is known.
    Gathered(States),
}

/// A share of one stage.
pub struct Share {
    /// Which.
    pub stage: Stage,
    /// What the stages before it came to.
    pub states: States,
    /// The rows that it works on.
    pub input: Input,
    /// Where it hands on.
    pub output: Mutex<Option<Output>>,
}

/// Rows between two stages, in buckets.
pub trait Spilled: Default {
    /// Those that a worker was handed.
    ///
    /// # Errors
    /// Chunks that do not hold whole rows.
    fn handed(input: &Input) -> Result<Self, DeriveError>;

    /// Writes them.
    ///
    /// # Errors
    /// What cannot be read or written.
    fn hand_on(&self, output: &mut Output) -> Result<(), DeriveError>;
}

impl Spilled for () {
    fn handed(_: &Input) -> Result<Self, DeriveError> {
        Ok(())
    }

    fn hand_on(&self, _: &mut Output) -> Result<(), DeriveError> {
        Ok(())
    }
}

/// What a stage came to: a state, what it counted, rows. Counts are none where nobody here needs them.
pub type Stepped<S, B> = (S, Option<Counts>, B);

impl Work {
    /// Whether nothing is shared out: all tickets are at hand, all codes are given here.
    pub fn is_whole(&self) -> bool {
        matches!(self, Work::Whole)
    }

    /// Most buckets that rows are spread over.
    pub fn most_buckets(&self) -> usize {
        if self.is_whole() { MOST_BUCKETS } else { MOST_SHARED_BUCKETS }
    }

    /// What a stage came to: `here` computes it where it is this one's to compute.
    ///
    /// # Errors
    /// Those of `here`; states or rows that were not handed over. [`DeriveError::HandedOn`] once a share is computed and
    /// handed on: nothing after it is to be done.
    pub fn step<S: State, B: Spilled>(
        &self,
        stage: Stage,
        here: impl FnOnce() -> Result<Stepped<S, B>, DeriveError>,
    ) -> Result<Stepped<S, B>, DeriveError> {
        match self {
            Work::Whole => here(),
            Work::Share(share) if share.stage == stage => {
                share.hand_on(&here()?)?;
                Err(DeriveError::HandedOn)
            }
            Work::Share(share) => {
                let counts = Some(stage).filter(|_| share.stage.needs_counts());
                let counts = known_counts(&share.states, counts, Kind::Cells)?;
                let state = share.states.get(stage, Kind::State)?;
                Ok((state, counts, B::handed(&share.input)?))
            }
            Work::Gathered(states) => {
                let counts = known_counts(states, Some(stage), Kind::Counts)?;
                Ok((states.get(stage, Kind::State)?, counts, B::default()))
            }
        }
    }
}

fn known_counts(
    states: &States,
    of: Option<Stage>,
    kind: Kind,
) -> Result<Option<Counts>, DeriveError> {
    let known = of.filter(|stage| states.has(*stage, kind));
    known.map(|stage| states.get(stage, kind)).transpose()
}

impl Share {
    fn hand_on<S: State, B: Spilled>(
        &self,
        (state, counts, rows): &Stepped<S, B>,
    ) -> Result<(), DeriveError> {
        let mut output = self.output.lock().map_err(|_| DeriveError::Thread)?;
        let Some(mut output) = output.take() else { return Err(DeriveError::Thread) };
        output.state(Kind::State, state)?;
        if let Some(counts) = counts {
            output.state(Kind::Counts, counts)?;
        }
        rows.hand_on(&mut output)?;
        output.finish()
    }
}
