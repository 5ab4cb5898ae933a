//! What the workers of a stage came to, apart from rows: small enough to be at hand everywhere.

use std::collections::BTreeMap;

use serde::Serialize;
use serde::de::DeserializeOwned;

use super::envelope::{Chunk, add_piece};
use super::stage::{Kind, Stage};
use crate::derive::DeriveError;

/// Rows that are packed into one chunk.
pub const PACKED_ROWS: usize = 4096;

/// Packs a state.
///
/// # Errors
/// A state that has no bytes: a fault of the program.
pub fn packed<S: Serialize>(state: &S) -> Result<Vec<u8>, DeriveError> {
    let wrong = |why: String| DeriveError::Stream { why };
    let bytes = postcard::to_stdvec(state).map_err(|error| wrong(error.to_string()))?;
    zstd::encode_all(bytes.as_slice(), 1).map_err(|error| wrong(error.to_string()))
}

/// Unpacks one.
///
/// # Errors
/// Bytes that are no such state.
pub fn unpacked<S: DeserializeOwned>(bytes: &[u8]) -> Result<S, DeriveError> {
    let wrong = |why: String| DeriveError::Stream { why };
    let bytes = zstd::decode_all(bytes).map_err(|error| wrong(error.to_string()))?;
    postcard::from_bytes(&bytes).map_err(|error| wrong(error.to_string()))
}

/// Something that the workers of a stage hand on and that is joined to one.
pub trait State: Serialize + DeserializeOwned {
    /// What both came to.
    fn merge(self, other: Self) -> Self;
}

impl State for () {
    fn merge(self, _: Self) -> Self {}
}

/// The joined states of the stages so far, packed.
#[derive(Clone, Debug, Default)]
pub struct States(BTreeMap<(Stage, Kind), Vec<Vec<u8>>>);

impl States {
    /// Adds a piece of one.
    ///
    /// # Errors
    /// A piece that does not follow the one before.
    pub fn add(&mut self, stage: Stage, chunk: Chunk) -> Result<(), DeriveError> {
        add_piece(self.0.entry((stage, chunk.kind)).or_default(), chunk)
    }

    /// The state or the counts of a stage.
    ///
    /// # Errors
    /// A stage whose state was not handed over, bytes that are no such state.
    pub fn get<S: DeserializeOwned>(&self, stage: Stage, kind: Kind) -> Result<S, DeriveError> {
        let all = self.0.get(&(stage, kind)).map_or(&[][..], Vec::as_slice);
        let [bytes] = all else {
            let (kind, stage, count) = (kind.word(), stage.word(), all.len());
            let why = format!("found {count} of the {kind} of the stage `{stage}`, expected one");
            return Err(DeriveError::Stream { why });
        };
        unpacked(bytes)
    }

    /// Whether a stage handed that on.
    pub fn has(&self, stage: Stage, kind: Kind) -> bool {
        self.0.contains_key(&(stage, kind))
    }
}

/// Joins what several workers of a stage handed on.
///
/// # Errors
/// Bytes that are no such state.
pub fn joined<S: State>(
    all: impl Iterator<Item = Vec<u8>>,
) -> Result<Option<Vec<u8>>, DeriveError> {
    let mut joined: Option<S> = None;
    for bytes in all {
        let state: S = unpacked(&bytes)?;
        joined = Some(match joined {
            Some(known) => known.merge(state),
            None => state,
        });
    }
    joined.map(|state| packed(&state)).transpose()
}
