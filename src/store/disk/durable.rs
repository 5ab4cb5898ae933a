//! Files that are whole once they have their name: written aside, hashed on the way, synced,
//! renamed.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use crate::store::StoreError;

/// Bytes read at a time for a hash; BLAKE3 is at its best with long inputs.
const HASH_CHUNK: usize = 1 << 18;

/// A file being written whose BLAKE3 is known at the end without reading it back.
pub(in crate::store) struct HashedFile {
    path: PathBuf,
    file: File,
    hasher: blake3::Hasher,
}

impl HashedFile {
    /// Starts `path`, replacing what an earlier, killed run left there.
    pub(in crate::store) fn create(path: &Path) -> Result<Self, StoreError> {
        let file = File::create(path).map_err(StoreError::io(path, "create"))?;
        Ok(Self { path: path.to_path_buf(), file, hasher: blake3::Hasher::new() })
    }

    pub(in crate::store) fn path(&self) -> &Path {
        &self.path
    }

    /// Brings the bytes to the disk; gives their BLAKE3 as hex.
    pub(in crate::store) fn finish(self) -> Result<String, StoreError> {
        self.file.sync_all().map_err(StoreError::io(&self.path, "write"))?;
        Ok(self.hasher.finalize().to_hex().to_string())
    }
}

impl Write for HashedFile {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.file.write(bytes)?;
        self.hasher.update(&bytes[..written]);
        Ok(written)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.flush()
    }
}

/// A reader that hashes what passes through it and reports how much that was.
pub(in crate::store) struct HashedReader<'a, R> {
    inner: R,
    hasher: blake3::Hasher,
    passed: &'a (dyn Fn(u64) + 'a),
}

impl<'a, R: Read> HashedReader<'a, R> {
    pub(in crate::store) fn new(inner: R, passed: &'a (dyn Fn(u64) + 'a)) -> Self {
        Self { inner, hasher: blake3::Hasher::new(), passed }
    }

    /// Reads whatever is left and gives the BLAKE3 of the whole as hex.
    pub(in crate::store) fn finish(mut self) -> io::Result<String> {
        let mut rest = vec![0; HASH_CHUNK];
        loop {
            match self.read(&mut rest) {
                Ok(0) => return Ok(self.hasher.finalize().to_hex().to_string()),
                Ok(_) => {}
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
    }
}

impl<R: Read> Read for HashedReader<'_, R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let count = self.inner.read(into)?;
        self.hasher.update(&into[..count]);
        (self.passed)(count as u64);
        Ok(count)
    }
}

/// BLAKE3 of a file as hex.
pub(in crate::store) fn hash_file(path: &Path) -> io::Result<String> {
    HashedReader::new(File::open(path)?, &|_| ()).finish()
}

/// Gives a synced file its final name, in place of whatever has it.
pub(in crate::store) fn rename(from: &Path, to: &Path) -> Result<(), StoreError> {
    fs::rename(from, to).map_err(StoreError::io(to, "rename a file to"))
}

/// Removes a file that may be gone already.
pub(in crate::store) fn remove_file(path: &Path) -> Result<(), StoreError> {
    match fs::remove_file(path) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => {
            Err(StoreError::io(path, "remove")(error))
        }
        _ => Ok(()),
    }
}

/// Makes the names in a folder durable.
pub(in crate::store) fn sync_folder(path: &Path) -> Result<(), StoreError> {
    let synced = File::open(path).and_then(|folder| folder.sync_all());
    synced.map_err(StoreError::io(path, "write"))
}

/// Makes a folder and those above it.
pub(in crate::store) fn make_folder(path: &Path) -> Result<(), StoreError> {
    fs::create_dir_all(path).map_err(StoreError::io(path, "create"))
}

/// Writes a file readable by its owner alone, in place of what a killed run left under its name.
pub(in crate::store) fn write_private(path: &Path, bytes: &[u8]) -> Result<(), StoreError> {
    remove_file(path)?;
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let written = options.open(path).and_then(|mut file| {
        file.write_all(bytes)?;
        file.sync_all()
    });
    written.map_err(StoreError::io(path, "write"))
}
