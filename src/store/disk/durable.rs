//! Files that are whole once they have their name: written aside, hashed on the way, brought to the disk,
//! renamed.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Write};
use std::mem;
use std::path::{Path, PathBuf};

use crate::store::StoreError;

/// Bytes read at a time for a hash; BLAKE3 is at its best with long inputs.
const HASH_CHUNK: usize = 1 << 18;

/// Bytes that are held back and then written at once: most parts are smaller, and so take one write.
const HELD: usize = 1 << 20;

/// A file being written whose BLAKE3 is known at the end without reading it back.
pub(in crate::store) struct HashedFile {
    path: PathBuf,
    file: File,
    hasher: blake3::Hasher,
    held: Vec<u8>,
    /// Nothing has been written yet: all of the file is held.
    whole: bool,
}

impl HashedFile {
    /// Starts `path`, replacing what an earlier, killed run left there.
    pub(in crate::store) fn create(path: &Path) -> Result<Self, StoreError> {
        let file = File::create(path).map_err(StoreError::io(path, "create"))?;
        let (path, hasher) = (path.to_path_buf(), blake3::Hasher::new());
        Ok(Self { path, file, hasher, held: Vec::new(), whole: true })
    }

    pub(in crate::store) fn path(&self) -> &Path {
        &self.path
    }

    /// Brings the bytes to the disk; gives their BLAKE3 as hex.
    pub(in crate::store) fn finish(mut self) -> Result<String, StoreError> {
        let (hash, _) = self.end()?;
        self.file.sync_all().map_err(StoreError::io(&self.path, "write"))?;
        Ok(hash)
    }

    /// Writes what is held; gives the BLAKE3 as hex, and the bytes of a file that is short enough for all of them to
    /// be held still. Nothing may be written after it. Whoever gives the file its name calls [`sync_files`] first.
    pub(in crate::store) fn end(&mut self) -> Result<(String, Option<Vec<u8>>), StoreError> {
        let whole = self.whole;
        self.file.write_all(&self.held).map_err(StoreError::io(&self.path, "write"))?;
        self.hasher.update(&self.held);
        let hash = self.hasher.finalize().to_hex().to_string();
        Ok((hash, whole.then(|| mem::take(&mut self.held))))
    }

    /// Writes what is held. Where that fails the file is lost: how much of it was written is not known.
    fn write_held(&mut self) -> io::Result<()> {
        self.whole = false;
        self.hasher.update(&self.held);
        let written = self.file.write_all(&self.held);
        self.held.clear();
        written
    }
}

impl Write for HashedFile {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if self.held.len() + bytes.len() > HELD && !self.held.is_empty() {
            self.write_held()?;
        }
        self.held.extend_from_slice(bytes);
        Ok(bytes.len())
    }

    /// Does nothing: all is written when the file ends.
    fn flush(&mut self) -> io::Result<()> {
        Ok(())
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

/// Most files that are brought to the disk one by one. For more the disk is asked once for all that it has yet to
/// write: that may be more than ours, but a call for each of a thousand small files takes longer than reading them.
#[cfg(target_os = "linux")]
const MOST_ONE_BY_ONE: usize = 32;

/// Brings ended files of one folder to the disk. `folder` was opened before the first of them was written: what failed
/// in between is told by it.
#[cfg_attr(not(target_os = "linux"), expect(unused_variables, reason = "no such call"))]
pub(in crate::store) fn sync_files(folder: &File, files: &[&Path]) -> Result<(), StoreError> {
    #[cfg(target_os = "linux")]
    if let [first, ..] = files
        && files.len() > MOST_ONE_BY_ONE
    {
        let synced = rustix::fs::syncfs(folder).map_err(io::Error::from);
        return synced.map_err(StoreError::io(first, "write"));
    }
    for path in files {
        let synced = File::open(path).and_then(|file| file.sync_all());
        synced.map_err(StoreError::io(path, "write"))?;
    }
    Ok(())
}

/// Gives a file that is on the disk its final name, in place of whatever has it.
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
