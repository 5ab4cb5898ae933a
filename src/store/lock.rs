//! One process at a time.
//!
//! The lock is the operating system's advisory lock on the store's lock file, not the existence of
//! that file: it ends with its process however that ends, so no stale lock can remain, and a process
//! id that was given out again cannot deceive. The file stays and tells who holds or held it.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Read, Seek, Write};
use std::path::Path;
use std::thread;
use std::time::Duration;

use chrono::SecondsFormat;

use super::{StoreError, clock};

/// How often a lock that is held is tried again, and how long after each time.
const TRIES: u32 = 50;
const PAUSE: Duration = Duration::from_millis(20);

/// Longest holder text that is read back for a message, bytes.
const HOLDER_MOST: u64 = 200;

/// The store's lock, held until dropped.
#[derive(Debug)]
pub(super) struct Lock {
    _file: File,
}

impl Lock {
    /// Takes the lock or, after a second, says who has it.
    pub(super) fn take(path: &Path) -> Result<Self, StoreError> {
        let mut options = OpenOptions::new();
        options.read(true).write(true).create(true).truncate(false);
        let mut file = options.open(path).map_err(StoreError::io(path, "open"))?;
        match try_for_a_moment(&file) {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => {
                return Err(StoreError::Busy { path: path.to_path_buf(), holder: holder(file) });
            }
            Err(TryLockError::Error(source)) => return Err(StoreError::io(path, "lock")(source)),
        }
        let since = clock::now()?.to_rfc3339_opts(SecondsFormat::Secs, true);
        let text = format!("process {} since {since}", std::process::id());
        file.set_len(0)
            .and_then(|()| file.rewind())
            .and_then(|()| file.write_all(text.as_bytes()))
            .map_err(StoreError::io(path, "write"))?;
        Ok(Self { _file: file })
    }
}

/// Tries to lock for a second. A process that was killed goes only when it is taken apart, and one that was
/// just started from this one has its files until it has become another program.
fn try_for_a_moment(file: &File) -> Result<(), TryLockError> {
    for _ in 0..TRIES {
        match file.try_lock() {
            Err(TryLockError::WouldBlock) => thread::sleep(PAUSE),
            tried => return tried,
        }
    }
    file.try_lock()
}

/// Who holds the lock, as far as the file tells.
fn holder(file: File) -> String {
    let mut bytes = Vec::new();
    match file.take(HOLDER_MOST).read_to_end(&mut bytes) {
        Ok(read) if read > 0 => String::from_utf8_lossy(&bytes).into_owned(),
        _ => "another process".into(),
    }
}
