//! The key of the pseudonyms: made once from the system's random source, readable by its owner only.
//!
//! It stays with the store. Without it the same person would get a new pseudonym, so a store that has
//! exports and no key, or another key than it was made with, is damaged.

use std::fs::{self, Metadata};
use std::io;
use std::path::Path;

use crate::store::StoreError;
use crate::store::disk::durable::{rename, sync_folder, write_private};
use crate::store::disk::random::random;
use crate::store::manifest::layout::Layout;

const KEY_BYTES: usize = 32;

/// What a check value is derived for: BLAKE3's derivation keeps it apart from every other use of the key.
const CHECK_CONTEXT: &str = "motetrail store 2026: that people.key is whole";

/// Bytes of the check value: they find any damage, and of 256 secret bits tell nothing.
const CHECK_BYTES: usize = 8;

/// A key as it is in the file.
pub(in crate::store) type Secret = [u8; KEY_BYTES];

/// A value that only this key has and from which the key cannot be found.
pub(in crate::store) fn check_of(secret: &Secret) -> String {
    let derived = blake3::derive_key(CHECK_CONTEXT, secret);
    derived[..CHECK_BYTES].iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Reads the key; none where there is none.
///
/// `check` is what the store remembers of it, if it does yet.
pub(in crate::store) fn read_key(
    layout: &Layout,
    check: Option<&str>,
) -> Result<Option<Secret>, StoreError> {
    let path = layout.people_key();
    match fs::symlink_metadata(&path) {
        Ok(found) => refuse_open_key(&path, &found)?,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(StoreError::io(&path, "read")(error)),
    }
    let bytes = fs::read(&path).map_err(StoreError::io(&path, "read"))?;
    let secret: Secret = bytes.as_slice().try_into().map_err(|_| {
        key_damage(&path, &format!("found {} bytes, expected {KEY_BYTES}", bytes.len()))
    })?;
    match check {
        Some(check) if check_of(&secret) != check => {
            Err(key_damage(&path, "is not the key that this store was made with"))
        }
        _ => Ok(Some(secret)),
    }
}

/// A store that has exports and not its key.
pub(in crate::store) fn missing(layout: &Layout) -> StoreError {
    key_damage(&layout.people_key(), "the key of the pseudonyms is missing")
}

fn key_damage(path: &Path, why: &str) -> StoreError {
    StoreError::Damaged {
        path: path.to_path_buf(),
        why: why.into(),
        todo:
            "restore it from a backup of this store; without it pseudonyms change, so else name an \
               empty folder as `store` and read every export anew"
                .into(),
    }
}

/// Whoever can read the key can trace pseudonyms, and a link may point anywhere.
fn refuse_open_key(path: &Path, found: &Metadata) -> Result<(), StoreError> {
    let refused = |why: String, todo: &'static str| StoreError::Refused {
        path: path.to_path_buf(),
        why,
        todo,
    };
    if !found.is_file() {
        let why = "is a link or no plain file, expected the key of the pseudonyms itself".into();
        return Err(refused(why, "put the file in its place"));
    }
    #[cfg(unix)]
    {
        let mode = std::os::unix::fs::PermissionsExt::mode(&found.permissions()) & 0o777;
        if mode & 0o077 != 0 {
            let why = format!("has the rights {mode:o}, expected its owner's alone (600)");
            return Err(refused(why, "run `chmod 600` on it, and ask who has read it"));
        }
    }
    Ok(())
}

/// Makes a key. Written aside first: a key cut short by a kill must never be taken for the key.
pub(in crate::store) fn make_key(layout: &Layout) -> Result<Secret, StoreError> {
    let secret = random::<KEY_BYTES>()?;
    let aside = layout.people_key_new();
    write_private(&aside, &secret)?;
    rename(&aside, &layout.people_key())?;
    sync_folder(layout.root())?;
    Ok(secret)
}
