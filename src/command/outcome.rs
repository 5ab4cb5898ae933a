//! How a command ended, as an exit code.

use crate::derive::DeriveError;
use crate::measures::trust::over_limit;
use crate::report::{CompareError, ReportError};
use crate::settings::{Plan, SettingsError};
use crate::store::{Store, StoreError};
use crate::synth::SynthError;

/// A command that ran to its end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    Done,
    /// Done, but more rows of a file, a source, a table or of all were quarantined than `quarantine_limit` allows.
    TooManyQuarantined,
    /// Done without exports that could not be read.
    Unread,
    /// The store does not agree with its manifest.
    Damaged,
}

impl Outcome {
    /// How a command ended that took exports in: an export that could not be read weighs more than
    /// rows that could not.
    pub fn of_store(store: &Store, plan: &Plan) -> Outcome {
        if !store.unread().is_empty() {
            Outcome::Unread
        } else if over_limit(plan, store.accounts()).is_empty() {
            Outcome::Done
        } else {
            Outcome::TooManyQuarantined
        }
    }
}

/// The exit code of an error.
pub fn code(error: &anyhow::Error) -> u8 {
    if let Some(error) = error.downcast_ref::<SettingsError>() {
        return match error {
            SettingsError::Unreadable { .. } => 3,
            SettingsError::Invalid { .. } => 2,
        };
    }
    if let Some(error) = error.downcast_ref::<StoreError>() {
        return of_store(error);
    }
    if let Some(error) = error.downcast_ref::<DeriveError>() {
        return match error {
            DeriveError::Store(error) => of_store(error),
            DeriveError::Period { .. }
            | DeriveError::TooManySources
            | DeriveError::Clock { .. } => 2,
            DeriveError::Column { .. } => 4,
            _ => 3,
        };
    }
    if let Some(error) = error.downcast_ref::<SynthError>() {
        return match error {
            SynthError::Recipe { .. }
            | SynthError::Plant { .. }
            | SynthError::UnknownPlant { .. } => 2,
            SynthError::Write { .. } => 3,
        };
    }
    if error.downcast_ref::<ReportError>().is_some() {
        return 3;
    }
    if let Some(error) = error.downcast_ref::<CompareError>() {
        return if matches!(error, CompareError::Fleets { .. }) { 2 } else { 3 };
    }
    if error.downcast_ref::<WrongArgument>().is_some() { 2 } else { 3 }
}

fn of_store(error: &StoreError) -> u8 {
    match error {
        StoreError::Damaged { .. }
        | StoreError::Unbalanced { .. }
        | StoreError::Version { .. }
        | StoreError::NoManifest { .. }
        | StoreError::OldManifest { .. } => 4,
        StoreError::Pattern { .. } => 2,
        _ => 3,
    }
}

/// An argument that clap cannot check.
#[derive(Debug, thiserror::Error)]
#[error("{argument}: found \"{found}\", expected {expected}")]
pub struct WrongArgument {
    pub argument: &'static str,
    pub found: String,
    pub expected: std::borrow::Cow<'static, str>,
}
