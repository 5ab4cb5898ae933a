//! The manifest as it is on disk, of this version or the one before.

use std::{fs, io};

use super::form::{MANIFEST_VERSION, Manifest, Versions};
use super::layout::Layout;
use super::sealed::{opened, unseal};
use crate::store::StoreError;
use crate::store::open::adopt;

/// What the folder has as its manifest.
pub(in crate::store) enum Found {
    Nothing,
    /// One of this version, with its check value.
    Whole(Manifest, String),
    /// One of the version before, as this version understands it; its sums are still to be made.
    Older(Manifest),
}

impl Manifest {
    /// Reads and checks the manifest.
    pub fn load(layout: &Layout) -> Result<Found, StoreError> {
        let path = layout.manifest();
        let bytes = match fs::read(&path) {
            Ok(bytes) => bytes,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Found::Nothing),
            Err(error) => return Err(StoreError::io(&path, "read")(error)),
        };
        let damaged = |why: String| StoreError::damaged(&path, why);
        let Some((_, body)) = opened(&bytes) else {
            return adopt::read(layout, &bytes).map(Found::Older);
        };
        // Another version may have another seal, so what it is comes first.
        let found = Versions::of(body.as_bytes()).map_err(&damaged)?;
        found.expect(&path, MANIFEST_VERSION)?;
        let (manifest, check): (Self, String) = unseal(&bytes).map_err(&damaged)?;
        manifest.check().map_err(&damaged)?;
        Ok(Found::Whole(manifest, check))
    }
}
