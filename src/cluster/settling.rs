//! Which records stand, in shares: by source, table and record, then export by export. The rules are the store's.

use std::fs::File;
use std::io::{Read, Write};

use anyhow::Context;

use super::folder::{Folder, of_store};
use super::typing::{DROPPED, kept};
use crate::derive::share::envelope::{self, Chunk, Envelope};
use crate::derive::share::stage::Kind;
use crate::store::Store;

/// The manifest of exports: what became of each in, the manifest out.
///
/// # Errors
/// Entries that do not go together, a full disk.
pub fn ledger(folder: &Folder, from: impl Read, to: impl Write) -> anyhow::Result<()> {
    let mut entries = Vec::new();
    envelope::read(from, folder.seal(), |chunk| {
        if chunk.kind == Kind::Entry {
            entries.push(chunk.bytes.to_vec());
        }
        Ok(())
    })?;
    let plan = folder.plan()?;
    Store::write_ledger(&plan, &entries)?;
    let mut stream = Envelope::new(to, folder.seal())?;
    let manifest = Store::share(&plan)?.manifest_file().context("the manifest has no name")?;
    stream.push_file(&of_store(&manifest), File::open(plan.fleet.store.join(&manifest))?)?;
    Ok(stream.finish()?)
}

/// What settling makes of rows and files: the store's own rules, a share at a time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Settling {
    /// Parts in, their records as settling sees them out.
    Claims,
    /// These in, by identity; records that do not stand out.
    Judge,
    /// All parts of an export and its records that do not stand in; what became of it, and lists of these records, out.
    Fates,
}

/// Settles a share.
///
/// # Errors
/// Damage in a part, a full disk.
pub fn settle(
    step: Settling,
    folder: &Folder,
    from: impl Read,
    to: impl Write,
) -> anyhow::Result<()> {
    let takes: &[Kind] = match step {
        Settling::Claims => &[],
        Settling::Judge => &[Kind::Claims],
        Settling::Fates => &[Kind::Verdicts],
    };
    let input = folder.handed(from, ("settling", takes))?;
    let mut stream = Envelope::new(to, folder.seal())?;
    let Some(input) = input else { return Ok(stream.finish()?) };
    let plan = folder.plan()?;
    let store = Store::share(&plan)?;
    match step {
        Settling::Claims => stream.push_rows(Kind::Claims, &store.claims(folder.path())?)?,
        Settling::Judge => {
            let claims = input.take(Kind::Claims)?;
            stream.push_rows(Kind::Verdicts, &store.verdicts(folder.path(), &claims)?)?;
        }
        Settling::Fates => {
            let verdicts = input.take(Kind::Verdicts)?;
            for (entry, number) in store.settled_entries(&plan, &verdicts)?.iter().zip(0..) {
                stream.push(Chunk { kind: Kind::Entry, name: "", place: number, bytes: entry })?;
            }
            for (name, path) in kept(&plan.fleet.store)? {
                if name.starts_with(DROPPED) {
                    stream.push_file(&of_store(&name), File::open(path)?)?;
                }
            }
        }
    }
    Ok(stream.finish()?)
}
