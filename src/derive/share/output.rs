//! What a worker hands on.

use std::io::Write;

use bytemuck::Pod;
use serde::Serialize;

use super::envelope::{Chunk, Envelope, Seal};
use super::stage::{Kind, Stage};
use super::states::{PACKED_ROWS, packed};
use crate::derive::DeriveError;
use crate::store::Buckets;

/// The stream that a worker writes.
pub struct Output {
    stage: Stage,
    stream: Envelope<Box<dyn Write + Send>>,
}

impl Output {
    /// Begins that of a stage.
    ///
    /// # Errors
    /// What cannot be written to.
    pub fn new(
        stage: Stage,
        to: Box<dyn Write + Send>,
        seal: &Seal,
    ) -> Result<Output, DeriveError> {
        Ok(Output { stage, stream: Envelope::new(to, seal)? })
    }

    /// Writes rows, bucket by bucket.
    ///
    /// # Errors
    /// What cannot be read or written.
    pub fn rows<T: Pod>(&mut self, kind: Kind, rows: &Buckets<T>) -> Result<(), DeriveError> {
        self.makes(kind)?;
        self.stream.push_rows(kind, rows)
    }

    fn makes(&self, kind: Kind) -> Result<(), DeriveError> {
        if self.stage.makes().contains(&kind) {
            return Ok(());
        }
        let why = format!("the stage {} hands on no {}", self.stage.word(), kind.word());
        Err(DeriveError::Stream { why })
    }

    /// Writes rows of no fixed size, all to one place, some thousands packed into a chunk.
    ///
    /// # Errors
    /// What cannot be written.
    pub fn pack<T: Serialize>(
        &mut self,
        kind: Kind,
        rows: impl Iterator<Item = T>,
    ) -> Result<(), DeriveError> {
        let mut rows = rows.peekable();
        while rows.peek().is_some() {
            let some: Vec<T> = rows.by_ref().take(PACKED_ROWS).collect();
            self.chunk(kind, 0, &packed(&some)?)?;
        }
        Ok(())
    }

    /// Writes one chunk of rows.
    ///
    /// # Errors
    /// What cannot be written.
    pub fn chunk(&mut self, kind: Kind, place: usize, bytes: &[u8]) -> Result<(), DeriveError> {
        self.makes(kind)?;
        self.stream.push(Chunk { kind, name: "", place: place as u32, bytes })
    }

    /// Writes what is no row.
    ///
    /// # Errors
    /// What cannot be written.
    pub fn state<S: Serialize>(&mut self, kind: Kind, state: &S) -> Result<(), DeriveError> {
        let bytes = packed(state)?;
        self.stream.push_state(kind, "", &bytes)
    }

    /// Ends it.
    ///
    /// # Errors
    /// What cannot be written.
    pub fn finish(self) -> Result<(), DeriveError> {
        self.stream.finish()
    }
}
