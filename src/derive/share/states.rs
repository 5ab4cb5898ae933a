//! What the workers of a stage came to, apart from rows: small enough to be at hand everywhere.

use std::collections::BTreeMap;

use serde::Serialize;
use serde::de::DeserializeOwned;

use super::stage::{Kind, Stage};
use crate::derive::DeriveError;

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
pub struct States(BTreeMap<(Stage, Kind), Vec<u8>>);

impl States {
    /// Adds one.
    pub fn insert(&mut self, stage: Stage, kind: Kind, bytes: Vec<u8>) {
        self.0.insert((stage, kind), bytes);
    }

    /// The state or the counts of a stage.
    ///
    /// # Errors
    /// A stage whose state was not handed over, bytes that are no such state.
    pub fn get<S: DeserializeOwned>(&self, stage: Stage, kind: Kind) -> Result<S, DeriveError> {
        let bytes = self.0.get(&(stage, kind)).ok_or_else(|| DeriveError::Stream {
            why: format!("the {} of the stage `{}` is missing", kind.word(), stage.word()),
        })?;
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
