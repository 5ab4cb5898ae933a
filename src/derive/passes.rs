//! From the store to the counts of one period: scan, period, covers, passes.

use std::collections::BTreeMap;
use std::collections::hash_map::Entry;

use chrono::NaiveDate;
use rustc_hash::FxHashMap;
use serde::{Deserialize, Serialize};

use super::DeriveError;
use super::counts::{Counts, has_too_many_work_orders};
use super::mating::describe::Span;
use super::mating::named::{Named, NamedRow, Told};
use super::mating::window::Windows;
use super::naming::heard::Heard;
use super::naming::listen::listen;
use super::naming::meeting::{NamesMeeting, compare, source_names};
use super::period::Period;
use super::pick::face_names::{FaceNames, Written, written_names};
use super::pick::services::{Services, services};
use super::run::bucketwise::Run;
use super::run::{TicketRows, named_faces};
use super::scan::cover::{Covers, Evidence, Window, Withdrawn, covers};
use super::scan::key::Key;
use super::scan::names::{Glossary, Lists};
use super::scan::read_once::{Scanned, meet_words, scan, spread};
use super::scan::shared::Precision;
use super::scan::tickets::{each_ticket, meet_ticket_words, most_tickets, read_tickets};
use super::share::packed::PackedSpill;
use super::share::stage::Stage;
use super::share::states::State;
use super::share::work::{Stepped, Work};
use super::witness::Witness;
use crate::calendar::{Calendar, Quarter, local_day};
use crate::intake::Spellings;
use crate::records::Table;
use crate::settings::Plan;
use crate::store::{Progress, Spill, Store};

/// What a derivation hands on.
pub struct Derived {
    /// All that was counted.
    pub counts: Counts,
    /// The words behind the codes.
    pub glossary: Glossary,
    /// The pieces of time behind the numbers.
    pub calendar: Calendar,
    /// What is reviewed.
    pub period: Period,
    /// Sites whose faults are known over a span that rests on a default.
    pub guessed_cover: Vec<String>,
    /// Over what time the faults of a site are known, by the site's code.
    pub fault_covers: BTreeMap<u32, Span>,
    /// Fault sources without a fault: they cover nothing.
    pub empty_fault_sources: Vec<String>,
    /// Fault sources too few of whose tickets find a mating: they cover nothing.
    pub withdrawn: Vec<Withdrawn>,
    /// Whether sources name end faces alike.
    pub meeting: NamesMeeting,
    /// How many records are known to the day only.
    pub precision: Precision,
    /// Tickets whose mating record was ambiguous.
    pub ambiguous: u64,
    /// How late tickets of every source may come after the repair.
    pub windows: Windows,
    /// How late tickets of the fleet are seen to come at least, hours: shorter windows are refuted.
    pub shown_hours: u32,
    /// The sums of 5.1's clusters go by site-day, since there were too many work orders.
    pub by_site_day: bool,
    /// Names of the end faces that the counts name by their keys.
    pub face_names: FaceNames,
    /// What the matings of the worklist carry, by their numbers.
    pub services: Services,
}

/// Most days that the day of the last intake may lie before the newest record (zones differ by as
/// much), and after it: later than that, the records are old ones and the day says nothing of them.
const MOST_DAYS_BEFORE: i64 = 1;
const MOST_DAYS_AFTER: i64 = 400;

/// The day on which records are taken to be complete where the settings name none.
fn kept_day(last_intake: Option<NaiveDate>, newest: NaiveDate) -> Result<NaiveDate, DeriveError> {
    let Some(day) = last_intake else { return Ok(newest) };
    let after = day.signed_duration_since(newest).num_days();
    if (-MOST_DAYS_BEFORE..=MOST_DAYS_AFTER).contains(&after) {
        return Ok(day);
    }
    Err(DeriveError::Clock { day, newest })
}

/// Derives the counts of one period from the store.
///
/// # Errors
/// A damaged store, an empty one, a period without records, counts that do not add up.
pub fn derive(
    plan: &Plan,
    store: &Store,
    asked: Option<Quarter>,
    progress: &dyn Progress,
) -> Result<Derived, DeriveError> {
    derive_with(plan, store, asked, progress, &())
}

/// As [`derive`], with a witness.
///
/// # Errors
/// As [`derive`].
pub fn derive_with(
    plan: &Plan,
    store: &Store,
    asked: Option<Quarter>,
    progress: &dyn Progress,
    witness: &dyn Witness,
) -> Result<Derived, DeriveError> {
    derive_work(plan, store, asked, (progress, witness), &Work::Whole)
}

/// As [`derive_with`], as much of it as is this one's work.
///
/// # Errors
/// As [`derive`]; [`DeriveError::HandedOn`] once a share is computed and handed on.
pub fn derive_work(
    plan: &Plan,
    store: &Store,
    asked: Option<Quarter>,
    (progress, witness): (&dyn Progress, &dyn Witness),
    work: &Work,
) -> Result<Derived, DeriveError> {
    let threads = rayon::current_num_threads();
    let lists = Lists::of(plan);
    let spellings = Spellings::read(plan)?;
    let with = (&lists, &spellings);
    agree_on_words(plan, store, with, (work, threads))?;
    let known = lists.words()?;
    let mut tickets = match work.is_whole() {
        true => read_tickets(plan, store, &lists, &spellings)?,
        false => Vec::new(),
    };
    let (mut told, _, names) = work.step(Stage::Tickets, || match work {
        Work::Whole => Ok((Told::of(&tickets), None, TicketRows::default())),
        _ => ticket_rows(plan, store, with, work),
    })?;
    let named = match work {
        Work::Whole => Named::of_tickets(&tickets),
        _ => Named::of_told(&mut told),
    };
    let (mut scanned, spread) = scan(plan, store, with, (&tickets, &named), (work, threads))?;
    let heard = std::mem::replace(&mut scanned.heard, Heard::within(0));
    let heard = match work {
        // Whether names meet is asked of all records at once.
        Work::Share(_) => heard,
        _ => heard.merge(listen(plan, store, &[Table::Faults], with, threads)?),
    };
    if !work.is_whole() && lists.words()? != known {
        let why = "a record has a word that no worker met when words were gathered".into();
        return Err(DeriveError::Stream { why });
    }
    let glossary = Glossary::close(lists, plan);
    let meeting = compare(&heard, &glossary.site.0, &source_names(store), &spellings);
    drop(heard);
    let span = scanned.facts.span.ok_or(DeriveError::Empty)?;
    let newest = told.span().map_or(span.1, |(_, last)| span.1.max(last));
    let newest = local_day(newest, plan.fleet.timezone);
    let as_of = match plan.fleet.as_of {
        Some(stated) => stated,
        None => kept_day(store.last_intake_day(), newest)?,
    };
    let (period, calendar) = Period::choose(plan, asked, as_of, span)?;
    witness.period(&period).map_err(DeriveError::Refused)?;
    let mut covers = covers(&Evidence {
        plan,
        places: &source_places(store),
        opened: &told.opened,
        facts: &scanned.facts,
        sites: &glossary.site.0,
        as_of,
    });
    // Faults opened after the period's end are not read; tickets come in order of opening.
    tickets.truncate(tickets.partition_point(|ticket| ticket.opened < period.end));
    let run = Run {
        plan,
        scanned: &scanned,
        spread,
        named: &named,
        names: &names,
        glossary: &glossary,
        calendar: &calendar,
        period: &period,
        progress,
        witness,
        work,
        threads,
    };
    let (mut counts, read) = run.count(store, &tickets, &mut covers)?;
    counts.give_up_beyond_limits();
    let reviewed = calendar.piece_of(period.quarter);
    let by_site_day = has_too_many_work_orders(&counts.first_pass.work_orders, reviewed);
    if by_site_day {
        counts.first_pass.work_orders.clear();
    }
    counts.rates.give_up_beyond_places();
    counts.check()?;
    let mut named = named_faces(&counts.carriers);
    named.extend(counts.worklist.named());
    let (Called { faces, services }, _, ()) = work.step(Stage::Names, || {
        let faces = written_names(store, &spellings, &named, threads)?;
        Ok((Called { faces, services: services(store, &counts.worklist.matings())? }, None, ()))
    })?;
    let face_names = faces.into_iter().map(|(key, (_, _, name))| (key, name)).collect();
    Ok(Derived {
        fault_covers: fault_covers(&covers, &scanned),
        guessed_cover: guessed(&covers, &scanned, &glossary),
        empty_fault_sources: covers.empty_fault_sources,
        withdrawn: covers.withdrawn,
        meeting,
        precision: Precision { faults: (told.by_day, told.count), ..scanned.precision },
        ambiguous: read.ambiguous,
        windows: read.windows,
        shown_hours: read.shown_hours,
        by_site_day,
        face_names,
        services,
        counts,
        glossary,
        calendar,
        period,
    })
}

/// The tickets at hand as rows: all to one place, and those that name an end face to its bucket.
fn ticket_rows(
    plan: &Plan,
    store: &Store,
    with: (&Lists, &Spellings),
    work: &Work,
) -> Result<Stepped<Told, TicketRows>, DeriveError> {
    let (spread, folder) = (spread(store, work.most_buckets()), store.work_folder());
    let mut told = Told::to_others(most_tickets(store) as usize);
    let (mut named, mut tickets) =
        (Spill::new(&folder, spread.faces())?, PackedSpill::new(&folder, 1)?);
    each_ticket(plan, store, with, |one| {
        told.add(&one.ticket);
        if let Some(row) = NamedRow::of(one.number, &one.ticket) {
            named.push(spread.face(row.key.high), &row)?;
        }
        tickets.push(0, one)
    })?;
    let rows = TicketRows { named: named.finish()?, tickets: tickets.finish()? };
    Ok((told, None, rows))
}

/// Where the work is shared out, every worker must have the same codes: begins with the words that all met together.
fn agree_on_words(
    plan: &Plan,
    store: &Store,
    (lists, spellings): (&Lists, &Spellings),
    (work, threads): (&Work, usize),
) -> Result<(), DeriveError> {
    if work.is_whole() {
        return Ok(());
    }
    let (met, _, ()) = work.step(Stage::Words, || {
        let own = Lists::of(plan);
        meet_ticket_words(plan, store, (&own, spellings))?;
        meet_words(plan, store, (&own, spellings), threads)?;
        Ok((own.words()?, None, ()))
    })?;
    lists.add(&met)
}

/// What the report names, read from the store once more.
#[derive(Serialize, Deserialize)]
pub(super) struct Called {
    faces: FxHashMap<Key, Written>,
    services: Services,
}

impl State for Called {
    fn merge(mut self, other: Called) -> Called {
        for (key, written) in other.faces {
            match self.faces.entry(key) {
                Entry::Occupied(mut known) if written < *known.get() => {
                    known.insert(written);
                }
                Entry::Occupied(_) => {}
                Entry::Vacant(empty) => {
                    empty.insert(written);
                }
            }
        }
        self.services.extend(other.services);
        self
    }
}

/// Sources of the store by name, with their places.
fn source_places(store: &Store) -> BTreeMap<String, u16> {
    let parts = Table::ALL.into_iter().flat_map(|table| store.parts(table));
    parts.map(|part| (part.source, part.source_index as u16)).collect()
}

fn fault_covers(covers: &Covers, scanned: &Scanned) -> BTreeMap<u32, Span> {
    let cover = |site: &u32| {
        let Window { from, to, guessed: _ } = covers.faults(*site)?;
        Some((*site, Span { from, to }))
    };
    scanned.facts.sites.iter().filter_map(cover).collect()
}

fn guessed(covers: &Covers, scanned: &Scanned, glossary: &Glossary) -> Vec<String> {
    let sites = scanned
        .facts
        .sites
        .iter()
        .filter(|site| covers.faults(**site).is_some_and(|cover| cover.guessed));
    let mut names: Vec<String> = sites.map(|site| glossary.site.0.word(*site).to_owned()).collect();
    names.sort();
    names
}
