//! Reads the store once: every record becomes a small event in the bucket of its end face, every
//! mating a row in the bucket of its number. Two or more threads, one part at a time each.

use std::sync::atomic::{AtomicUsize, Ordering};

use serde::{Deserialize, Serialize};

use super::key::Key;
use super::names::Lists;
use super::records::{Read, Reader};
use super::shared::{Precision, Shared};
use super::site_facts::SiteFacts;
use super::spread::Spread;
use crate::derive::DeriveError;
use crate::derive::face::event::{Event, MatingRow};
use crate::derive::mating::named::Named;
use crate::derive::mating::ticket::{Hit, Hits, Ticket};
use crate::derive::naming::heard::Heard;
use crate::derive::share::input::Input;
use crate::derive::share::output::Output;
use crate::derive::share::packed::Packed;
use crate::derive::share::stage::{Kind, Stage};
use crate::derive::share::states::State;
use crate::derive::share::work::{Spilled, Work};
use crate::intake::Spellings;
use crate::records::Table;
use crate::settings::Plan;
use crate::store::{Buckets, PartInfo, Spill, Store};

/// Everything that the passes need, apart from the calendar.
pub struct Scanned {
    /// Everything that happened to an end face, in the bucket of its key.
    pub events: Buckets<Event>,
    /// Matings, in the bucket of their number.
    pub matings: Buckets<MatingRow>,
    /// Matings in each bucket of `matings`: bucket b holds the numbers from b times this on.
    pub matings_per_bucket: u64,
    /// Matings by the record that tickets name, where tickets are at hand.
    pub hits: Hits,
    /// Where they are not: matings by a record that tickets may name, several times where several readers met it.
    pub hit_rows: Packed<(Key, Hit)>,
    /// What the records say of each site as a whole.
    pub facts: SiteFacts,
    /// How many records are known to the day only.
    pub precision: Precision,
    /// What end faces are called by whom, apart from tickets.
    pub heard: Heard,
}

/// What the scan learns apart from rows.
#[derive(Serialize, Deserialize)]
pub struct Learnt {
    facts: SiteFacts,
    precision: Precision,
    heard: Heard,
}

impl State for Learnt {
    fn merge(mut self, other: Learnt) -> Learnt {
        self.facts.merge(other.facts);
        self.precision.merge(other.precision);
        Learnt { heard: self.heard.merge(other.heard), ..self }
    }
}

/// The rows that the scan makes.
#[derive(Default)]
struct ScanRows {
    events: Buckets<Event>,
    matings: Buckets<MatingRow>,
    hits: Hits,
    hit_rows: Packed<(Key, Hit)>,
    /// Numbers of the matings among them, in the bucket of the mating.
    wanted: Buckets<u64>,
}

impl Spilled for ScanRows {
    fn handed(input: &Input) -> Result<ScanRows, DeriveError> {
        Ok(ScanRows {
            events: input.take(Kind::Events)?,
            matings: input.take(Kind::Matings)?,
            hits: Hits::default(),
            hit_rows: Packed::handed(input, Kind::Hits)?,
            // Pass one has wanted ones, too, and takes all.
            wanted: Buckets::default(),
        })
    }

    fn hand_on(&self, output: &mut Output) -> Result<(), DeriveError> {
        output.rows(Kind::Events, &self.events)?;
        output.rows(Kind::Matings, &self.matings)?;
        output.pack(Kind::Hits, self.hits.noted())?;
        output.rows(Kind::Wanted, &self.wanted)
    }
}

/// One part to read, with the number of its first mating.
struct Job {
    part: PartInfo,
    /// Place among the parts of its table: of two exports of a source the later has the higher.
    rank: usize,
    first_mating: u64,
}

/// The parts to read, those of them that are not at hand too: matings are numbered over all.
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

/// Notes the words of the records in `lists`, and nothing else.
///
/// # Errors
/// Whatever the store reports.
pub fn meet_words(
    plan: &Plan,
    store: &Store,
    with: (&Lists, &Spellings),
    threads: usize,
) -> Result<(), DeriveError> {
    let (jobs, spread) = planned(store, 1);
    read_jobs(plan, store, with, (&[], &Named::default()), (&jobs, spread, threads)).map(drop)
}

/// How the records of all parts are spread, in at most so many buckets.
pub fn spread(store: &Store, most_buckets: usize) -> Spread {
    planned(store, most_buckets).1
}

/// Reads all but the faults, as much of it as is this one's work.
///
/// # Errors
/// Whatever the store reports.
pub fn scan(
    plan: &Plan,
    store: &Store,
    with: (&Lists, &Spellings),
    (tickets, named): (&[Ticket], &Named),
    (work, threads): (&Work, usize),
) -> Result<(Scanned, Spread), DeriveError> {
    let (jobs, spread) = planned(store, work.most_buckets());
    let (learnt, _, rows) = work.step(Stage::Scan, || {
        let read = read_jobs(plan, store, with, (tickets, named), (&jobs, spread, threads))?;
        let (learnt, mut rows) = gather(read)?;
        if !work.is_whole() {
            let mut wanted = Spill::new(&store.work_folder(), spread.matings())?;
            for (_, Hit { mating, .. }) in rows.hits.noted() {
                wanted.push(spread.mating(mating), &mating)?;
            }
            rows.wanted = wanted.finish()?;
        }
        Ok((learnt, None, rows))
    })?;
    let scanned = Scanned {
        events: rows.events,
        matings: rows.matings,
        matings_per_bucket: spread.matings_per_bucket,
        hits: rows.hits,
        hit_rows: rows.hit_rows,
        facts: learnt.facts,
        precision: learnt.precision,
        heard: learnt.heard,
    };
    Ok((scanned, spread))
}

/// The parts at hand, and how the records of all parts are spread.
fn planned(store: &Store, most_buckets: usize) -> (Vec<Job>, Spread) {
    let mut jobs = jobs(store);
    let rows = |table| {
        jobs.iter().filter(|job| job.part.table == table).map(|job| job.part.rows).sum::<u64>()
    };
    let matings = rows(Table::Matings);
    let records = jobs.iter().map(|job| job.part.rows).sum::<u64>() + matings;
    jobs.retain(|job| store.holds(&job.part));
    (jobs, Spread::of(records, matings, most_buckets))
}

fn read_jobs(
    plan: &Plan,
    store: &Store,
    (lists, spellings): (&Lists, &Spellings),
    (tickets, named): (&[Ticket], &Named),
    (jobs, spread, threads): (&[Job], Spread, usize),
) -> Result<Vec<Read>, DeriveError> {
    let folder = store.work_folder();
    let shared = Shared { plan, spellings, lists, named, tickets, spread, folder: &folder };
    let next = AtomicUsize::new(0);
    std::thread::scope(|scope| {
        let work = || {
            let mut reader = Reader::new(&shared)?;
            while let Some(job) = jobs.get(next.fetch_add(1, Ordering::Relaxed)) {
                reader.read(store, &job.part, job.rank, job.first_mating)?;
            }
            reader.finish()
        };
        let threads: Vec<_> = (0..threads.max(1)).map(|_| scope.spawn(work)).collect();
        let done =
            threads.into_iter().map(|thread| thread.join().unwrap_or(Err(DeriveError::Thread)));
        done.collect()
    })
}

fn gather(readers: Vec<Read>) -> Result<(Learnt, ScanRows), DeriveError> {
    let (mut events, mut matings, mut hits) = (Vec::new(), Vec::new(), Hits::default());
    let mut learnt: Option<Learnt> = None;
    for part in readers {
        events.push(part.events);
        matings.push(part.matings);
        hits.merge(part.hits);
        let Read { facts, precision, heard, .. } = part;
        let more = Learnt { facts, precision, heard };
        learnt = Some(match learnt {
            Some(learnt) => learnt.merge(more),
            None => more,
        });
    }
    // Threads are at least one, so there is one reader.
    let learnt = learnt.ok_or(DeriveError::Thread)?;
    let (events, matings) = (Buckets::join(events), Buckets::join(matings));
    Ok((learnt, ScanRows { events, matings, hits, ..ScanRows::default() }))
}
