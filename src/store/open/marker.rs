//! What a folder is known by as a store: a file with the form of the store, its identity, and a value
//! that its key must agree with.
//!
//! Written last when a store is made, so a folder that has it is whole, and never changed afterwards.
//! The identity is random; nothing that is computed depends on it.

use std::fs;
use std::io::{self, Write};

use serde::{Deserialize, Serialize};

use crate::store::StoreError;
use crate::store::disk::durable::{HashedFile, rename, sync_folder};
use crate::store::disk::random::random_name;
use crate::store::manifest::layout::Layout;
use crate::store::manifest::sealed::{seal, unseal};

/// Form of the store as a whole.
const STORE_FORMAT: u32 = 3;

/// Bytes of an identity.
const IDENTITY_BYTES: usize = 16;

/// The marker of a store.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::store) struct Marker {
    /// What the file is, for whoever opens it.
    pub what: String,
    pub format: u32,
    /// Tells this store from any other.
    pub identity: String,
    /// See [`super::people_key::check_of`].
    pub people_key: String,
}

impl Marker {
    /// That of a store that becomes one now.
    pub fn new(people_key: String) -> Result<Self, StoreError> {
        Ok(Self {
            what: "a store of motetrail".into(),
            format: STORE_FORMAT,
            identity: random_name::<IDENTITY_BYTES>()?,
            people_key,
        })
    }

    /// Reads the marker; none where the folder has none.
    pub fn load(layout: &Layout) -> Result<Option<Self>, StoreError> {
        let path = layout.marker();
        let bytes = match fs::read(&path) {
            Ok(bytes) => bytes,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(StoreError::io(&path, "read")(error)),
        };
        let (marker, _): (Self, String) =
            unseal(&bytes).map_err(|why| StoreError::damaged(&path, why))?;
        if marker.format != STORE_FORMAT {
            let (found, expected) = (marker.format, STORE_FORMAT);
            return Err(StoreError::Version { path, found, expected });
        }
        Ok(Some(marker))
    }

    /// Makes the folder a store.
    pub fn write(&self, layout: &Layout) -> Result<(), StoreError> {
        let aside = layout.marker_new();
        let sealed =
            seal(self).map_err(|error| StoreError::io(&aside, "write")(io::Error::other(error)))?;
        let mut file = HashedFile::create(&aside)?;
        file.write_all(sealed.text.as_bytes()).map_err(StoreError::io(&aside, "write"))?;
        file.finish()?;
        rename(&aside, &layout.marker())?;
        sync_folder(layout.root())
    }
}
