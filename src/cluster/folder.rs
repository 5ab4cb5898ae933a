//! A worker's folder: the settings and of the store what it was handed.

use std::fs::{self, File, OpenOptions};
use std::io::{Read, Write};
use std::path::{Component, Path, PathBuf};

use anyhow::{Context, bail};
use tempfile::TempDir;

use crate::derive::share::envelope::{self, Chunk, Envelope, Seal};
use crate::derive::share::input::Input;
use crate::derive::share::stage::Kind;
use crate::derive::share::states::States;
use crate::derive::{DeriveError, Stage};
use crate::settings::{self, Plan};
use crate::store::Unread;

/// Where the settings stand in a worker's folder, whatever they are called where they were written.
const SETTINGS: &str = "settings/fleet.toml";
/// Folders of a worker: settings with what they name, and the store.
pub(super) const OF_SETTINGS: &str = "settings";
const OF_STORE: &str = "store";

/// A worker's folder, gone with it.
pub struct Folder {
    folder: TempDir,
    seal: Seal,
    states: States,
    unread: Vec<Unread>,
}

/// Writes the settings and the alias tables that they name as a stream; gives the seal of the job.
///
/// # Errors
/// Files that cannot be read or written.
pub fn settings_stream(plan: &Plan, path: &Path, to: impl Write) -> anyhow::Result<Seal> {
    let files = settings_files(plan, path)?;
    let seal = seal_of(&files);
    let mut stream = Envelope::new(to, &seal)?;
    for (name, bytes) in &files {
        stream.push_file(name, bytes.as_slice())?;
    }
    stream.finish()?;
    Ok(seal)
}

/// The settings and the alias tables that they name, by the names that they have in a worker's folder.
fn settings_files(plan: &Plan, path: &Path) -> anyhow::Result<Vec<(String, Vec<u8>)>> {
    let mut files = vec![(SETTINGS.to_owned(), path.to_path_buf())];
    for file in plan.sources.iter().filter_map(|source| source.names.aliases.as_ref()) {
        let own = (format!("{OF_SETTINGS}/{file}"), plan.fleet.folder.join(file));
        if !files.contains(&own) {
            files.push(own);
        }
    }
    let read = |(name, path): (String, PathBuf)| {
        let bytes =
            fs::read(&path).with_context(|| format!("{}: cannot be read", path.display()))?;
        Ok((name, bytes))
    };
    files.into_iter().map(read).collect()
}

fn seal_of(files: &[(String, Vec<u8>)]) -> Seal {
    let mut hasher = blake3::Hasher::new();
    for (name, bytes) in files {
        hasher.update(&(name.len() as u64).to_le_bytes()).update(name.as_bytes());
        hasher.update(&(bytes.len() as u64).to_le_bytes()).update(bytes);
    }
    Seal::of(hasher.finalize().to_hex().as_str())
}

/// Whether a name of a stream leads to a place below the worker's folder.
fn is_inside(name: &str) -> bool {
    let mut parts = Path::new(name).components();
    !name.is_empty() && parts.all(|part| matches!(part, Component::Normal(_)))
}

impl Folder {
    /// A folder with what these streams hold; they must be of this program and of one job.
    ///
    /// # Errors
    /// Streams of another version or of different jobs, files that cannot be read or written.
    pub fn of_streams(streams: &[PathBuf]) -> anyhow::Result<Folder> {
        let folder = tempfile::tempdir().context("a folder for temporary files cannot be made")?;
        let first = streams.first().context("--with: found nothing, expected the job's streams")?;
        let open = |path: &PathBuf| {
            File::open(path).with_context(|| format!("{}: cannot be read", path.display()))
        };
        let seal = Seal::of(&envelope::settings_of(open(first)?)?);
        let mut own = Folder { folder, seal, states: States::default(), unread: Vec::new() };
        for path in streams {
            own.read(open(path)?).with_context(|| format!("stream {}", path.display()))?;
        }
        own.check_settings()?;
        Ok(own)
    }

    /// Whether the settings that were handed over are those that the streams say they are of.
    fn check_settings(&self) -> anyhow::Result<()> {
        let found = seal_of(&settings_files(&self.plan()?, &self.path().join(SETTINGS))?);
        if found != self.seal {
            bail!(
                "the settings of the job are damaged; write the job again with `motetrail cluster`"
            );
        }
        Ok(())
    }

    fn read(&mut self, stream: impl Read) -> Result<(), DeriveError> {
        let seal = self.seal.clone();
        envelope::read(stream, &seal, |chunk| match chunk.kind {
            Kind::State | Kind::Counts | Kind::Cells => {
                let stage = Stage::of(chunk.name).ok_or_else(|| DeriveError::Stream {
                    why: format!("found a state of the stage \"{}\"", chunk.name),
                })?;
                self.states.add(stage, chunk)
            }
            Kind::Unread => {
                let unread = serde_json::from_slice(chunk.bytes);
                let wrong =
                    |error: serde_json::Error| DeriveError::Stream { why: error.to_string() };
                self.unread.push(unread.map_err(wrong)?);
                Ok(())
            }
            _ => self.put(chunk),
        })
    }

    /// What a task is handed: rows of these kinds, and files, which go where they belong. Nothing where the stream has no
    /// chunk: an engine may start a task that it has nothing for.
    ///
    /// # Errors
    /// A stream that is not of this job; rows that the task does not take; as [`Folder::put`].
    pub fn handed(
        &self,
        from: impl Read,
        (task, takes): (&str, &[Kind]),
    ) -> Result<Option<Input>, DeriveError> {
        let input = Input::new(self.path());
        let mut is_none = true;
        envelope::read(from, &self.seal, |chunk| {
            is_none = false;
            match chunk.kind {
                Kind::Begin | Kind::File => self.put(chunk),
                kind if takes.contains(&kind) => input.push(chunk),
                kind => {
                    Err(DeriveError::Stream { why: format!("{task} takes no {}", kind.word()) })
                }
            }
        })?;
        Ok((!is_none).then_some(input))
    }

    /// Puts a piece of a file where it belongs. Pieces of a file come in their order.
    ///
    /// # Errors
    /// A full disk; a name that leads elsewhere; a piece that is missing or of another file.
    pub fn put(&self, chunk: Chunk) -> Result<(), DeriveError> {
        if chunk.kind == Kind::Begin {
            return Ok(());
        }
        let wrong = |why: String| DeriveError::Stream { why: format!("{}: {why}", chunk.name) };
        if chunk.kind != Kind::File || !is_inside(chunk.name) {
            return Err(wrong(format!("a {} stands where a file should", chunk.kind.word())));
        }
        let path = self.path().join(chunk.name);
        let put = || {
            path.parent().map_or(Ok(()), fs::create_dir_all)?;
            let mut file = match chunk.place {
                0 => File::create(&path)?,
                _ => OpenOptions::new().append(true).open(&path)?,
            };
            let before = file.metadata()?.len();
            file.write_all(chunk.bytes)?;
            Ok(before)
        };
        let before = put().map_err(|error: std::io::Error| wrong(error.to_string()))?;
        if before != u64::from(chunk.place) * envelope::CHUNK as u64 {
            return Err(wrong(format!("piece {} comes after {before} bytes", chunk.place)));
        }
        Ok(())
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    /// The seal of the job's streams.
    pub fn seal(&self) -> &Seal {
        &self.seal
    }

    /// What the stages so far came to; none is left here.
    pub fn take_states(&mut self) -> States {
        std::mem::take(&mut self.states)
    }

    /// Exports that could not be read, by source and file.
    pub fn unread(&self) -> Vec<Unread> {
        let mut unread = self.unread.clone();
        unread.sort_by(|a, b| (&a.source, &a.file).cmp(&(&b.source, &b.file)));
        unread
    }

    /// The settings, with the store of this folder.
    ///
    /// # Errors
    /// Settings that are wrong.
    pub fn plan(&self) -> anyhow::Result<Plan> {
        let mut plan = settings::read(&self.path().join(SETTINGS))?;
        plan.fleet.store = self.path().join(OF_STORE);
        Ok(plan)
    }
}

/// Name in a stream of a file of the store.
pub fn of_store(name: &str) -> String {
    format!("{OF_STORE}/{name}")
}
