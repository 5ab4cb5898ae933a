//! Reads nothing but the names of end faces from the store.

use std::sync::atomic::{AtomicUsize, Ordering};

use super::heard::{Heard, Voice};
use crate::derive::DeriveError;
use crate::derive::scan::columns::{Coded, Texts, Words, fixed, listed};
use crate::derive::scan::key::{Keys, Naming};
use crate::derive::scan::names::Lists;
use crate::intake::Spellings;
use crate::records::{Side, Table, face_columns};
use crate::settings::Plan;
use crate::store::{PartInfo, Store};

/// The names of some tables.
///
/// # Errors
/// Whatever the store reports.
pub fn listen(
    plan: &Plan,
    store: &Store,
    tables: &[Table],
    (lists, spellings): (&Lists, &Spellings),
    threads: usize,
) -> Result<Heard, DeriveError> {
    let nothing = || Heard::within(plan.rules.memory_mib);
    let parts: Vec<PartInfo> = tables.iter().flat_map(|table| store.parts(*table)).collect();
    let next = AtomicUsize::new(0);
    let heard = std::thread::scope(|scope| {
        let work = || {
            let (mut heard, mut keys) = (nothing(), Keys::default());
            while let Some(part) = parts.get(next.fetch_add(1, Ordering::Relaxed)) {
                read_part(store, part, (lists, spellings), &mut keys, &mut heard)?;
            }
            Ok(heard)
        };
        let threads: Vec<_> = (0..threads.max(1)).map(|_| scope.spawn(work)).collect();
        let done =
            threads.into_iter().map(|thread| thread.join().unwrap_or(Err(DeriveError::Thread)));
        done.collect::<Result<Vec<Heard>, DeriveError>>()
    })?;
    Ok(heard.into_iter().fold(nothing(), Heard::merge))
}

fn read_part(
    store: &Store,
    part: &PartInfo,
    (lists, spellings): (&Lists, &Spellings),
    keys: &mut Keys,
    heard: &mut Heard,
) -> Result<(), DeriveError> {
    let naming = Naming::of(part, spellings);
    let source = u16::try_from(part.source_index).map_err(|_| DeriveError::TooManySources)?;
    let named = face_columns(part.table);
    let columns: Vec<&str> = named.iter().flatten().copied().chain(["site"]).collect();
    for batch in store.read(part, &columns)? {
        let batch = batch?;
        let (site, site_word) = (listed(&batch, "site", &lists.site)?, Words::of(&batch, "site")?);
        for [name, side] in named {
            let names = Texts::of(&batch, name)?;
            let sides: Coded = fixed(&batch, side, Side::WORDS)?;
            for row in 0..batch.num_rows() {
                let (written, side) = (names.get(row), sides.get(row) as u8);
                let key = keys.end_face(naming, written, site_word.get(row), side);
                let voice = Voice::of(part.table, source, site.get(row));
                heard.note(voice, key, || naming.spelled(written));
            }
        }
    }
    Ok(())
}
