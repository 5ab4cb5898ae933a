//! Long exports in ranges: one worker says where a row begins, others type a range each, one makes the export of them.
//!
//! Their files travel as files of a worker's folder: the ranges under `ranges`, what came of them under `typed`, each by
//! number, what it is, and the name of the export. An export that a worker cannot cut goes on as it came; one that must be
//! read as a whole after all is named under `whole`.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use anyhow::{Context, bail};
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use super::folder::{Folder, OF_SETTINGS, of_store};
use crate::derive::share::envelope::{self, Chunk, Envelope};
use crate::derive::share::stage::Kind;
use crate::intake::Range;
use crate::settings::Plan;
use crate::store::{Progress, RangeFiles, Store, TypedRange};

/// Folders of a worker.
const OF_RANGES: &str = "ranges";
const OF_TYPED: &str = "typed";
const OF_WHOLE: &str = "whole";
/// Files of a range: what is known of it, and its text or what it holds.
const ABOUT: &str = "about";
const TEXT: &str = "text";

/// What is known of a range.
#[derive(Clone, Debug, Serialize, Deserialize)]
struct About {
    /// How many ranges the export has.
    of: usize,
    /// BLAKE3 of the whole export, hex.
    hash: String,
    range: Range,
    /// What came of it; none before it is typed, and where the export is to be read whole.
    typed: Option<TypedRange>,
}

fn name(folder: &str, number: usize, what: &str, file: &str) -> String {
    format!("{folder}/{number:06}/{what}/{file}")
}

/// Cuts the exports that are handed in into ranges of at least so many bytes.
///
/// # Errors
/// A full disk; an export that cannot be read.
pub fn cut(folder: &Folder, every: u64, from: impl Read, to: impl Write) -> anyhow::Result<()> {
    let mut handed = Vec::new();
    envelope::read(from, folder.seal(), |chunk: Chunk| {
        if chunk.place == 0 {
            handed.push(chunk.name.to_owned());
        }
        folder.put(chunk)
    })?;
    let plan = folder.plan()?;
    let cut = Store::cut(&plan, every)?;
    let cut: BTreeMap<&str, _> = cut.iter().map(|ranged| (ranged.file.as_str(), ranged)).collect();
    let mut stream = Envelope::new(to, folder.seal())?;
    for handed in &handed {
        let path = folder.path().join(handed);
        let file = handed.strip_prefix(OF_SETTINGS).map_or("", |file| file.trim_start_matches('/'));
        let Some(ranged) = cut.get(file) else {
            stream.push_file(handed, File::open(&path)?)?;
            continue;
        };
        let length = fs::metadata(&path)?.len();
        let ends = ranged.ranges.iter().skip(1).map(|range| range.from).chain([length]);
        for (number, (range, end)) in ranged.ranges.iter().zip(ends).enumerate() {
            let (of, hash) = (ranged.ranges.len(), ranged.hash.clone());
            let about = serde_json::to_vec(&About { of, hash, range: *range, typed: None })?;
            stream.push_file(&name(OF_RANGES, number, ABOUT, file), about.as_slice())?;
            let mut text = File::open(&path)?;
            text.seek(SeekFrom::Start(range.from))?;
            let text = File::open(&path)?.take(ranged.head).chain(text.take(end - range.from));
            stream.push_file(&name(OF_RANGES, number, TEXT, file), text)?;
        }
    }
    Ok(stream.finish()?)
}

/// A range, or what came of it, in a worker's folder.
struct Held {
    number: usize,
    file: String,
    about: About,
}

/// What a folder holds of ranges, by export and number.
fn held(folder: &Folder, of: &str) -> anyhow::Result<Vec<Held>> {
    let mut found = Vec::new();
    let root = folder.path().join(of);
    for entry in if root.is_dir() { fs::read_dir(&root)?.collect() } else { Vec::new() } {
        let entry = entry?;
        let number = entry.file_name().to_str().and_then(|number| number.parse().ok());
        let number = number.with_context(|| format!("{}: no number", entry.path().display()))?;
        let abouts = entry.path().join(ABOUT);
        let mut files = Vec::new();
        below(&abouts, "", &mut files)?;
        for file in files {
            let about = serde_json::from_slice(&fs::read(abouts.join(&file))?)?;
            found.push(Held { number, file, about });
        }
    }
    found.sort_by(|a, b| (&a.file, a.number).cmp(&(&b.file, b.number)));
    Ok(found)
}

/// Files below a folder, by their names from it.
fn below(folder: &Path, name: &str, found: &mut Vec<String>) -> anyhow::Result<()> {
    for entry in fs::read_dir(folder.join(name))? {
        let entry = entry?;
        let own = entry.file_name();
        let own = own.to_str().context("a file of a range has a name that is no text")?;
        let own = if name.is_empty() { own.to_owned() } else { format!("{name}/{own}") };
        match entry.file_type()?.is_dir() {
            true => below(folder, &own, found)?,
            false => found.push(own),
        }
    }
    Ok(())
}

/// Has an empty file stand where an export does, by which its source is known.
fn stand_in(folder: &Folder, file: &str) -> anyhow::Result<PathBuf> {
    let path = folder.path().join(OF_SETTINGS).join(file);
    path.parent().map_or(Ok(()), fs::create_dir_all)?;
    File::create(&path)?;
    Ok(path)
}

/// Types the ranges that a worker was handed, and writes what came of them.
///
/// # Errors
/// A full disk.
pub(super) fn type_ranges<W: Write>(
    folder: &Folder,
    (plan, store): (&Plan, &Store),
    progress: &dyn Progress,
    stream: &mut Envelope<W>,
) -> anyhow::Result<()> {
    for (place, Held { number, file, about }) in held(folder, OF_RANGES)?.into_iter().enumerate() {
        let standing = stand_in(folder, &file)?;
        let text = folder.path().join(name(OF_RANGES, number, TEXT, &file));
        let typed = store.type_range(plan, &file, (place, &about.range), &text, progress)?;
        let (typed, files) =
            typed.map_or((None, RangeFiles::new()), |(typed, files)| (Some(typed), files));
        let about = serde_json::to_vec(&About { typed, ..about })?;
        stream.push_file(&name(OF_TYPED, number, ABOUT, &file), about.as_slice())?;
        for (what, path) in files {
            stream.push_file(&name(OF_TYPED, number, what, &file), File::open(&path)?)?;
            fs::remove_file(&path)?;
        }
        fs::remove_file(&text)?;
        fs::remove_file(&standing)?;
    }
    Ok(())
}

/// Makes exports of their ranges, all of which are handed in.
///
/// # Errors
/// Ranges that are missing or do not add up; a full disk.
pub fn bind(
    folder: &Folder,
    today: NaiveDate,
    from: impl Read,
    to: impl Write,
) -> anyhow::Result<()> {
    envelope::read(from, folder.seal(), |chunk| folder.put(chunk))?;
    let plan = folder.plan()?;
    let mut stream = Envelope::new(to, folder.seal())?;
    let mut exports: BTreeMap<String, Vec<Held>> = BTreeMap::new();
    for range in held(folder, OF_TYPED)? {
        exports.entry(range.file.clone()).or_default().push(range);
    }
    if exports.is_empty() {
        return Ok(stream.finish()?);
    }
    let store = Store::open(&plan)?;
    for (place, (file, ranges)) in exports.into_iter().enumerate() {
        let whole = ranges.iter().enumerate().all(|(place, range)| range.number == place);
        let [first, ..] = ranges.as_slice() else { continue };
        if !whole || ranges.len() != first.about.of {
            bail!("{file}: found {} ranges, expected {}", ranges.len(), first.about.of);
        }
        let hash = first.about.hash.clone();
        let typed: Option<Vec<TypedRange>> =
            ranges.into_iter().map(|range| range.about.typed).collect();
        stand_in(folder, &file)?;
        let of_range =
            |number: usize, what: &str| folder.path().join(name(OF_TYPED, number, what, &file));
        let bound = match &typed {
            Some(typed) => store.bind(&plan, (&file, &hash, today), typed, &of_range)?,
            None => None,
        };
        let Some(bound) = bound else {
            stream.push_file(&format!("{OF_WHOLE}/{OF_SETTINGS}/{file}"), &[][..])?;
            continue;
        };
        let entry = Chunk { kind: Kind::Entry, name: "", place: place as u32, bytes: &bound.entry };
        stream.push(entry)?;
        for (name, path) in bound.files {
            stream.push_file(&of_store(&name), File::open(&path)?)?;
            fs::remove_file(&path)?;
        }
    }
    Ok(stream.finish()?)
}
