//! The key of the pseudonyms: made once from the system's random source, readable by its owner only.
//!
//! It stays with the store. Without it the same person would get a new pseudonym, so a store that has
//! exports and no key is damaged.

use std::fs::{self, File};
use std::io::{self, Read};
use std::path::Path;

use crate::intake::PeopleKey;

use super::StoreError;
use super::durable::{rename, sync_folder, write_private};
use super::layout::Layout;

const KEY_BYTES: usize = 32;

/// The system's random source. A file, so that no further package is needed.
const RANDOM_SOURCE: &str = "/dev/urandom";

/// Reads the key, or makes it if the store is new.
pub(super) fn people_key(layout: &Layout, is_new: bool) -> Result<PeopleKey, StoreError> {
    let path = layout.people_key();
    match fs::read(&path) {
        Ok(bytes) => key_of(&path, &bytes),
        Err(error) if error.kind() == io::ErrorKind::NotFound && is_new => make_key(layout, &path),
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            Err(StoreError::damaged(&path, "the key of the pseudonyms is missing"))
        }
        Err(error) => Err(StoreError::io(&path, "read")(error)),
    }
}

fn key_of(path: &Path, bytes: &[u8]) -> Result<PeopleKey, StoreError> {
    let key: [u8; KEY_BYTES] = bytes.try_into().map_err(|_| {
        StoreError::damaged(path, format!("found {} bytes, expected {KEY_BYTES}", bytes.len()))
    })?;
    Ok(PeopleKey::new(key))
}

/// Written aside first: a key cut short by a kill must never be taken for the key.
fn make_key(layout: &Layout, path: &Path) -> Result<PeopleKey, StoreError> {
    let random = Path::new(RANDOM_SOURCE);
    let mut key = [0; KEY_BYTES];
    File::open(random)
        .and_then(|mut file| file.read_exact(&mut key))
        .map_err(StoreError::io(random, "read random bytes for the key of the pseudonyms"))?;
    let aside = layout.work().join("people.key");
    write_private(&aside, &key)?;
    rename(&aside, path)?;
    sync_folder(layout.root())?;
    Ok(PeopleKey::new(key))
}
