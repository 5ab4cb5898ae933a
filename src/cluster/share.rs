//! What a worker does with its share of a stage, what the driver joins, and how the joined states become a review.

use std::io::{Read, Write};
use std::sync::Mutex;

use anyhow::bail;

use super::folder::Folder;
use crate::derive::share::envelope::{self, Envelope, add_piece};
use crate::derive::share::output::Output;
use crate::derive::share::stage::Kind;
use crate::derive::share::work::{Share, Work};
use crate::derive::{DeriveError, Derived, Quarter, Stage, cells_of, derive_work, merge_states};
use crate::settings::Plan;
use crate::store::{Store, Unread};

/// Computes a share of a stage: rows in, rows and states out; nothing comes of a stream without a chunk.
///
/// # Errors
/// Streams that are not of this job, damage in files of the store, a full disk.
pub fn share(
    stage: Stage,
    mut folder: Folder,
    asked: Option<Quarter>,
    from: impl Read,
    to: Box<dyn Write + Send>,
) -> anyhow::Result<()> {
    let task = format!("the stage {}", stage.word());
    let Some(input) = folder.handed(from, (&task, stage.takes()))? else {
        // A stage that is not shared out must not run again where there is nothing.
        return Ok(Envelope::new(to, folder.seal())?.finish()?);
    };
    let plan = folder.plan()?;
    let store = Store::share(&plan)?;
    let output = Mutex::new(Some(Output::new(stage, to, folder.seal())?));
    let states = folder.take_states();
    let work = Work::Share(Box::new(Share { stage, states, input, output }));
    match derive_work(&plan, &store, asked, (&(), &()), &work) {
        Err(DeriveError::HandedOn) => Ok(()),
        Err(error) => Err(error.into()),
        Ok(_) => bail!("the stage {} was passed by; this is a fault of the program", stage.word()),
    }
}

/// Joins what the workers of a stage came to: their states and counts in, one of each out.
///
/// # Errors
/// Streams that are not of this job.
pub fn join(stage: Stage, folder: &Folder, from: impl Read, to: impl Write) -> anyhow::Result<()> {
    let (mut states, mut counts) = (Vec::new(), Vec::new());
    envelope::read(from, folder.seal(), |chunk| {
        match chunk.kind {
            Kind::State => add_piece(&mut states, chunk),
            Kind::Counts => add_piece(&mut counts, chunk),
            // Rows are for the stages after this one.
            _ => Ok(()),
        }
    })?;
    let mut stream = Envelope::new(to, folder.seal())?;
    for (kind, all) in [(Kind::State, states), (Kind::Counts, counts)] {
        if let Some(bytes) = merge_states(stage, kind, all.into_iter())? {
            stream.push_state(kind, stage.word(), &bytes)?;
            if kind == Kind::Counts {
                stream.push_state(Kind::Cells, stage.word(), &cells_of(&bytes)?)?;
            }
        }
    }
    Ok(stream.finish()?)
}

/// What all stages came to.
pub struct Gathered {
    /// The settings.
    pub plan: Plan,
    /// The share of the store that the driver has: what became of every export.
    pub store: Store,
    /// As one machine would have derived it.
    pub derived: Derived,
    /// Exports that could not be read.
    pub unread: Vec<Unread>,
    /// Where the store's share is, until this is dropped.
    pub folder: Folder,
}

/// Puts together what the stages came to.
///
/// # Errors
/// A stage that is missing, damage, counts that do not add up.
pub fn gather(mut folder: Folder, asked: Option<Quarter>) -> anyhow::Result<Gathered> {
    let plan = folder.plan()?;
    let store = Store::share(&plan)?;
    let work = Work::Gathered(folder.take_states());
    let derived = derive_work(&plan, &store, asked, (&(), &()), &work)?;
    Ok(Gathered { plan, store, derived, unread: folder.unread(), folder })
}
