//! Reads the faults table into tickets.

use arrow::array::{Array, Int64Array, RecordBatch};

use super::columns::{Identities, Texts, Times, Words, fixed, integers, listed};
use super::key::{Key, Keys, Naming};
use super::names::Lists;
use crate::calendar::Days;
use crate::derive::DeriveError;
use crate::derive::mating::price::{Bill, Stated};
use crate::derive::mating::ticket::{Numbered, Ticket};
use crate::intake::Spellings;
use crate::records::{Side, Table, level};
use crate::settings::{Costs, Plan};
use crate::store::{PartInfo, Store};

const COLUMNS: [&str; 18] = [
    "record",
    "site",
    "opened",
    "opened_precision",
    "cleared",
    "cleared_precision",
    "mating",
    "end_face",
    "side",
    "cause",
    "remedy",
    "found_stage",
    "work_order",
    "downtime_min",
    "labour_min",
    "visits",
    "cost",
    "identity",
];

/// Every ticket of the store that is at hand, in order of opening, source, record.
///
/// # Errors
/// Whatever the store reports.
pub fn read_tickets(
    plan: &Plan,
    store: &Store,
    lists: &Lists,
    spellings: &Spellings,
) -> Result<Vec<Ticket>, DeriveError> {
    let mut tickets = Vec::new();
    each_batch(plan, store, (lists, spellings), |_, mut some| {
        tickets.append(&mut some);
        Ok(())
    })?;
    tickets.sort_by(Ticket::order);
    Ok(tickets)
}

/// How many tickets a part may hold, as numbers are given.
const MOST_OF_PART: u32 = 40;

/// Every ticket of the parts at hand, numbered over all parts of the store.
///
/// # Errors
/// Whatever the store reports, and what `each` makes of a ticket.
pub fn each_ticket(
    plan: &Plan,
    store: &Store,
    with: (&Lists, &Spellings),
    mut each: impl FnMut(Numbered) -> Result<(), DeriveError>,
) -> Result<(), DeriveError> {
    let (mut of, mut next) = (None, 0);
    each_batch(plan, store, with, |part, tickets| {
        if of.replace(part) != Some(part) {
            next = (part as u64) << MOST_OF_PART;
        }
        for ticket in tickets {
            each(Numbered { number: next, ticket })?;
            next += 1;
        }
        Ok(())
    })
}

/// How many tickets the store holds at most, those of parts that are not at hand too.
pub fn most_tickets(store: &Store) -> u64 {
    store.parts(Table::Faults).iter().map(|part| part.rows).sum()
}

/// Notes the words of the tickets at hand in `lists`, and nothing else.
///
/// # Errors
/// Whatever the store reports.
pub fn meet_ticket_words(
    plan: &Plan,
    store: &Store,
    with: (&Lists, &Spellings),
) -> Result<(), DeriveError> {
    each_batch(plan, store, with, |_, _| Ok(()))
}

/// Tickets of the parts at hand, some at a time, with the place of their part among those of tickets.
fn each_batch(
    plan: &Plan,
    store: &Store,
    (lists, spellings): (&Lists, &Spellings),
    mut each: impl FnMut(usize, Vec<Ticket>) -> Result<(), DeriveError>,
) -> Result<(), DeriveError> {
    let parts = store.parts(Table::Faults).into_iter().enumerate();
    for (place, part) in parts.filter(|(_, part)| store.holds(part)) {
        for batch in store.read(&part, &COLUMNS)? {
            let mut tickets = Vec::new();
            read_batch(&batch?, (&part, Naming::of(&part, spellings)), plan, lists, &mut tickets)?;
            each(place, tickets)?;
        }
    }
    Ok(())
}

fn read_batch(
    batch: &RecordBatch,
    (part, naming): (&PartInfo, Naming),
    plan: &Plan,
    lists: &Lists,
    tickets: &mut Vec<Ticket>,
) -> Result<(), DeriveError> {
    let (record, mating) = (Texts::of(batch, "record")?, Texts::of(batch, "mating")?);
    let (end_face, work_order) = (Texts::of(batch, "end_face")?, Texts::of(batch, "work_order")?);
    let opened = Times::of(batch, "opened", "opened_precision")?;
    let cleared = Times::of(batch, "cleared", "cleared_precision")?;
    let (site, site_word) = (listed(batch, "site", &lists.site)?, Words::of(batch, "site")?);
    let (cause, cause_word) = (listed(batch, "cause", &lists.cause)?, Words::of(batch, "cause")?);
    let remedy = Words::of(batch, "remedy")?;
    let side = fixed(batch, "side", Side::WORDS)?;
    let found_stage = listed(batch, "found_stage", &lists.stage)?;
    let effort = Effort::of(batch)?;
    let source = lists.source.lock().map_err(|_| DeriveError::Thread)?.code(&part.source);
    let identity = Identities::of(batch)?;
    let (mut keys, mut days) = (Keys::default(), Days::of(part.timezone));
    let some = |word: &str| (!word.is_empty()).then(|| word.to_owned());
    for row in 0..batch.num_rows() {
        let Some((opened, opened_by_day)) = opened.get(row) else { continue };
        let day_end = |days: &mut Days, at: i64| days.holding(at).next - 1;
        tickets.push(Ticket {
            source: part.source_index as u16,
            record: record.get(row).to_owned(),
            identity: identity.get(row),
            site: site.get(row),
            opened,
            opened_day_end: opened_by_day.then(|| day_end(&mut days, opened)),
            cleared: cleared.get(row).map(|(at, by_day)| match by_day {
                true => day_end(&mut days, at),
                false => at,
            }),
            mating: some(mating.get(row)).map(|name| keys.mating(&name, site_word.get(row))),
            end_face: match end_face.get(row) {
                "" => Key::NONE,
                name => keys.end_face(naming, name, site_word.get(row), side.get(row) as u8),
            },
            cause: cause.get(row),
            control: plan.rules.control_causes.iter().any(|control| control == cause_word.get(row)),
            level: level(some(cause_word.get(row)).as_deref(), some(remedy.get(row)).as_deref()),
            found_stage: found_stage.get(row) as u8,
            work_order: match work_order.get(row) {
                "" => 0,
                name => keys.work_order(name),
            },
            bill: Bill { source, stated: effort.stated(row, &plan.costs) },
            downtime_min: Effort::value(effort.downtime_min, row),
        });
    }
    Ok(())
}

/// What a ticket took.
struct Effort<'a> {
    cost: &'a Int64Array,
    downtime_min: &'a Int64Array,
    labour_min: &'a Int64Array,
    visits: &'a Int64Array,
}

impl<'a> Effort<'a> {
    fn of(batch: &'a RecordBatch) -> Result<Self, DeriveError> {
        Ok(Effort {
            cost: integers(batch, "cost")?,
            downtime_min: integers(batch, "downtime_min")?,
            labour_min: integers(batch, "labour_min")?,
            visits: integers(batch, "visits")?,
        })
    }

    fn value(column: &Int64Array, row: usize) -> Option<i64> {
        column.is_valid(row).then(|| column.value(row))
    }

    /// What the record says of its price.
    fn stated(&self, row: usize, costs: &Costs) -> Stated {
        let parts = [self.downtime_min, self.labour_min, self.visits];
        Stated::of(Self::value(self.cost, row), parts.map(|part| Self::value(part, row)), costs)
    }
}
