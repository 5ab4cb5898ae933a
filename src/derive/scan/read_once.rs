//! Reads the store once: every record becomes a small event in the bucket of its end face, every
//! mating a row in the bucket of its number. Two or more threads, one part at a time each.

use std::sync::atomic::{AtomicUsize, Ordering};

use rustc_hash::FxHashSet;

use super::names::Lists;
use super::records::Reader;
use super::shared::{Precision, Shared};
use super::site_facts::SiteFacts;
use super::spread::Spread;
use crate::derive::DeriveError;
use crate::derive::face::event::{Event, MatingRow};
use crate::derive::mating::ticket::{Hits, Named, Ticket};
use crate::derive::naming::heard::Heard;
use crate::intake::Spellings;
use crate::records::Table;
use crate::settings::Plan;
use crate::store::{Buckets, PartInfo, Store};

/// Everything that the passes need, apart from the calendar.
pub struct Scanned {
    /// Everything that happened to an end face, in the bucket of its key.
    pub events: Buckets<Event>,
    /// Matings, in the bucket of their number.
    pub matings: Buckets<MatingRow>,
    /// Matings in each bucket of `matings`: bucket b holds the numbers from b times this on.
    pub matings_per_bucket: u64,
    /// Matings by the record that tickets name.
    pub hits: Hits,
    /// Matings that a ticket names, or whose end face a ticket names.
    pub touched: FxHashSet<u64>,
    /// What the records say of each site as a whole.
    pub facts: SiteFacts,
    /// How many records are known to the day only.
    pub precision: Precision,
    /// What end faces are called by whom, apart from tickets.
    pub heard: Heard,
}

/// One part to read, with the number of its first mating.
struct Job {
    part: PartInfo,
    /// Place among the parts of its table: of two exports of a source the later has the higher.
    rank: usize,
    first_mating: u64,
}

fn jobs(store: &Store) -> Vec<Job> {
    let mut jobs = Vec::new();
    let mut matings = 0;
    for table in [Table::EndFaces, Table::Inspections, Table::Cleanings, Table::Matings] {
        for (rank, part) in store.parts(table).into_iter().enumerate() {
            let first_mating = matings;
            if table == Table::Matings {
                matings += part.rows;
            }
            jobs.push(Job { part, rank, first_mating });
        }
    }
    jobs
}

/// Reads all but the faults.
///
/// # Errors
/// Whatever the store reports.
pub fn scan(
    plan: &Plan,
    store: &Store,
    (lists, spellings): (&Lists, &Spellings),
    tickets: &[Ticket],
    named: &Named,
    threads: usize,
) -> Result<(Scanned, Spread), DeriveError> {
    let jobs = jobs(store);
    let rows = |table| {
        jobs.iter().filter(|job| job.part.table == table).map(|job| job.part.rows).sum::<u64>()
    };
    let matings = rows(Table::Matings);
    let records = jobs.iter().map(|job| job.part.rows).sum::<u64>() + matings;
    let spread = Spread::of(records, matings);
    let folder = store.work_folder();
    let shared = Shared { plan, spellings, lists, named, tickets, spread, folder: &folder };
    let next = AtomicUsize::new(0);
    let readers = std::thread::scope(|scope| {
        let work = || {
            let mut reader = Reader::new(&shared)?;
            while let Some(job) = jobs.get(next.fetch_add(1, Ordering::Relaxed)) {
                reader.read(store, &job.part, job.rank, job.first_mating)?;
            }
            Ok(reader)
        };
        let threads: Vec<_> = (0..threads.max(1)).map(|_| scope.spawn(work)).collect();
        let done =
            threads.into_iter().map(|thread| thread.join().unwrap_or(Err(DeriveError::Thread)));
        done.collect::<Result<Vec<Reader>, DeriveError>>()
    })?;
    Ok((gather(readers, spread)?, spread))
}

fn gather(readers: Vec<Reader>, spread: Spread) -> Result<Scanned, DeriveError> {
    let (mut events, mut matings) = (Vec::new(), Vec::new());
    let mut hits = Hits::default();
    let mut touched = FxHashSet::default();
    let (mut facts, mut precision) = (SiteFacts::default(), Precision::default());
    let mut heard: Option<Heard> = None;
    for reader in readers {
        let part = reader.finish()?;
        events.push(part.events);
        matings.push(part.matings);
        hits.merge(part.hits);
        touched.extend(part.touched);
        facts.merge(part.facts);
        precision.merge(part.precision);
        heard = Some(match heard {
            Some(heard) => heard.merge(part.heard),
            None => part.heard,
        });
    }
    Ok(Scanned {
        events: Buckets::join(events),
        matings: Buckets::join(matings),
        matings_per_bucket: spread.matings_per_bucket,
        hits,
        touched,
        facts,
        precision,
        heard: heard.unwrap_or_else(|| Heard::within(0)),
    })
}
