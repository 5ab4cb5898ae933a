//! One process at a time.
//!
//! The lock is the operating system's advisory lock on the store's lock file, not the existence of
//! that file: it ends with its process however that ends, so no stale lock can remain, and a process
//! id that was given out again cannot deceive. The file stays; while the store is open it tells by whom.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{ErrorKind, Read, Seek, Write};
use std::path::Path;
use std::thread;
use std::time::Duration;

use chrono::SecondsFormat;

use super::clock;
use crate::store::StoreError;

/// How often a lock that is held is tried again, and how long after each time.
const TRIES: u32 = 50;
const PAUSE: Duration = Duration::from_millis(20);

/// Longest holder text that is read back for a message, bytes.
const HOLDER_MOST: u64 = 200;

/// The store's lock, held until dropped.
#[derive(Debug)]
pub(in crate::store) struct Lock {
    file: File,
    /// Whether the file tells of this process.
    is_told: bool,
}

impl Drop for Lock {
    fn drop(&mut self) {
        if self.is_told {
            // Whoever comes next goes by the lock, not by the text, so a failure may pass.
            let _ = self.file.set_len(0);
        }
    }
}

impl Lock {
    /// Takes the lock to look at the store, at the same time as others that look; none where there is no lock file,
    /// since to look must not make one.
    pub(in crate::store) fn look(path: &Path) -> Result<Option<Self>, StoreError> {
        refuse_link(path)?;
        let file = match File::open(path) {
            Ok(file) => file,
            Err(error) if error.kind() == ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(StoreError::io(path, "open")(error)),
        };
        match try_for_a_moment(|| file.try_lock_shared()) {
            Ok(()) => Ok(Some(Self { file, is_told: false })),
            Err(refused) => Err(refusal(path, file, refused)),
        }
    }

    /// Takes the lock or, after a second, says who has it.
    pub(in crate::store) fn take(path: &Path) -> Result<Self, StoreError> {
        refuse_link(path)?;
        let mut options = OpenOptions::new();
        options.read(true).write(true).create(true).truncate(false);
        let mut file = options.open(path).map_err(StoreError::io(path, "open"))?;
        if let Err(refused) = try_for_a_moment(|| file.try_lock()) {
            return Err(refusal(path, file, refused));
        }
        let since = clock::now()?.to_rfc3339_opts(SecondsFormat::Secs, true);
        let text = format!("process {} since {since}", std::process::id());
        file.set_len(0)
            .and_then(|()| file.rewind())
            .and_then(|()| file.write_all(text.as_bytes()))
            .map_err(StoreError::io(path, "write"))?;
        Ok(Self { file, is_told: true })
    }
}

/// Tries to lock for a second. A process that was killed goes only when it is taken apart, and one that was
/// just started from this one has its files until it has become another program.
fn try_for_a_moment(try_lock: impl Fn() -> Result<(), TryLockError>) -> Result<(), TryLockError> {
    for _ in 0..TRIES {
        match try_lock() {
            Err(TryLockError::WouldBlock) => thread::sleep(PAUSE),
            tried => return tried,
        }
    }
    try_lock()
}

fn refusal(path: &Path, file: File, refused: TryLockError) -> StoreError {
    match refused {
        TryLockError::WouldBlock => {
            StoreError::Busy { path: path.to_path_buf(), holder: holder(file) }
        }
        TryLockError::Error(source) => StoreError::io(path, "lock")(source),
    }
}

/// A lock file is written to, so it must be no link to somebody else's file.
fn refuse_link(path: &Path) -> Result<(), StoreError> {
    match fs::symlink_metadata(path) {
        Ok(found) if !found.is_file() => Err(StoreError::Refused {
            path: path.to_path_buf(),
            why: "is a link or no plain file, expected the store's own lock".into(),
            todo: "remove it",
        }),
        _ => Ok(()),
    }
}

/// Whether a file of the lock's name holds what this program writes into one: nothing, or who held it.
pub(in crate::store) fn is_own_lock(path: &Path) -> bool {
    File::open(path).is_ok_and(|file| {
        let mut bytes = Vec::new();
        let read = file.take(HOLDER_MOST).read_to_end(&mut bytes);
        read.is_ok() && (bytes.is_empty() || bytes.starts_with(b"process "))
    })
}

/// Who holds the lock, as far as the file tells.
fn holder(file: File) -> String {
    let mut bytes = Vec::new();
    match file.take(HOLDER_MOST).read_to_end(&mut bytes) {
        Ok(read) if read > 0 => String::from_utf8_lossy(&bytes).into_owned(),
        _ => "another process".into(),
    }
}
