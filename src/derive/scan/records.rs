//! One reader of the scan: turns the batches of one part into events. Looks and matings, which take
//! more than a few columns, are read in files of their own.

use arrow::array::RecordBatch;

use super::columns::{Identities, Texts, Times, Words, fixed, listed};
use super::key::{Key, Keys, Naming};
use super::record_columns::{CLEANING_COLUMNS, Common, FACE_COLUMNS, LOOK_COLUMNS, MATING_COLUMNS};
use super::shared::{Precision, Shared, note, spills};
use super::site_facts::SiteFacts;
use crate::calendar::Days;
use crate::derive::DeriveError;
use crate::derive::face::event::{Event, MatingRow, NEVER, kind};
use crate::derive::mating::ticket::Hits;
use crate::derive::naming::heard::{Heard, Voice};
use crate::records::{Optic, Side, Table};
use crate::store::{Buckets, PartInfo, Spill, Store};

/// What one reader came to.
pub struct Read {
    /// Events by bucket.
    pub events: Buckets<Event>,
    /// Matings by bucket.
    pub matings: Buckets<MatingRow>,
    /// Matings by the record that tickets name.
    pub hits: Hits,
    /// What the records say of each site.
    pub facts: SiteFacts,
    /// How many records are known to the day only.
    pub precision: Precision,
    /// What end faces are called by whom.
    pub heard: Heard,
}

/// Reads parts and keeps what it found.
pub struct Reader<'a> {
    /// What all readers share.
    pub(super) shared: &'a Shared<'a>,
    /// Events so far.
    pub(super) events: Spill<Event>,
    /// Matings so far.
    pub(super) matings: Spill<MatingRow>,
    /// Keys of end faces and records.
    pub(super) keys: Keys,
    /// Matings by the record that tickets name, so far.
    pub(super) hits: Hits,
    /// What the records say of each site, so far.
    pub(super) facts: SiteFacts,
    /// Records known to the day only, so far.
    pub(super) precision: Precision,
    /// What end faces are called by whom, so far.
    heard: Heard,
    /// Number of the next mating.
    pub(super) next_mating: u64,
    /// Rank of the export, then of the row in it.
    pub(super) register_rows: i64,
    /// Days of the zone of the part being read.
    pub(super) local: Days,
    /// Days of the fleet's zone.
    pub(super) fleet: Days,
    /// How the part being read names end faces.
    pub(super) naming: Naming<'a>,
    /// Place of its source by name.
    pub(super) source: u16,
}

impl<'a> Reader<'a> {
    /// A reader with empty spills.
    pub fn new(shared: &'a Shared<'a>) -> Result<Self, DeriveError> {
        let (events, matings) = spills(shared)?;
        let zone = shared.plan.fleet.timezone;
        Ok(Reader {
            shared,
            events,
            matings,
            keys: Keys::default(),
            hits: shared.named.hits(shared.tickets),
            facts: SiteFacts::default(),
            precision: Precision::default(),
            heard: Heard::within(shared.plan.rules.memory_mib),
            next_mating: 0,
            register_rows: 0,
            local: Days::of(zone),
            fleet: Days::of(zone),
            naming: Naming::of_none(),
            source: 0,
        })
    }

    /// Reads one part; `rank` is its place among the parts of its table, `first_mating` the number
    /// of its first mating.
    pub fn read(
        &mut self,
        store: &Store,
        part: &PartInfo,
        rank: usize,
        first_mating: u64,
    ) -> Result<(), DeriveError> {
        self.naming = Naming::of(part, self.shared.spellings);
        self.source = u16::try_from(part.source_index).map_err(|_| DeriveError::TooManySources)?;
        self.local = Days::of(part.timezone);
        self.next_mating = first_mating;
        // Of two register rows of one source the later export stands: parts come in export order.
        self.register_rows = (rank as i64) << 40;
        let columns = match part.table {
            Table::EndFaces => FACE_COLUMNS,
            Table::Inspections => LOOK_COLUMNS,
            Table::Cleanings => CLEANING_COLUMNS,
            Table::Matings => MATING_COLUMNS,
            Table::Faults => return Ok(()),
        };
        for batch in store.read(part, columns)? {
            let batch = batch?;
            match part.table {
                Table::EndFaces => self.faces(&batch)?,
                Table::Inspections => self.looks(&batch)?,
                Table::Cleanings => self.cleanings(&batch)?,
                _ => self.mating_rows(&batch)?,
            }
        }
        Ok(())
    }

    /// Closes the spills.
    pub fn finish(self) -> Result<Read, DeriveError> {
        Ok(Read {
            events: self.events.finish()?,
            matings: self.matings.finish()?,
            hits: self.hits,
            facts: self.facts,
            precision: self.precision,
            heard: self.heard,
        })
    }

    /// Notes what a record of the part being read calls an end face.
    pub(super) fn hear(&mut self, table: Table, site: u32, key: Key, written: &str) {
        let naming = self.naming;
        self.heard.note(Voice::of(table, self.source, site), key, || naming.spelled(written));
    }

    /// Writes an event to the bucket of its end face; one of no known end face is dropped.
    pub(super) fn push(&mut self, event: &Event) -> Result<(), DeriveError> {
        if event.key.is_known() {
            self.events.push(self.shared.spread.face(event.key.high), event)?;
        }
        Ok(())
    }

    fn faces(&mut self, batch: &RecordBatch) -> Result<(), DeriveError> {
        let lists = self.shared.lists;
        let end_face = Texts::of(batch, "end_face")?;
        let (site, site_word) = (listed(batch, "site", &lists.site)?, Words::of(batch, "site")?);
        let family = listed(batch, "family", &lists.family)?;
        let supplier = listed(batch, "supplier", &lists.supplier)?;
        let side = fixed(batch, "side", Side::WORDS)?;
        let optic = fixed(batch, "optic", Optic::WORDS)?;
        let service_ends = Times::of(batch, "in_service_to", "in_service_to_precision")?;
        let identity = Identities::of(batch)?;
        for row in 0..batch.num_rows() {
            let side = side.get(row) as u8;
            let ends = service_ends.get(row).map_or(NEVER, |(at, by_day)| {
                note(&mut self.precision.end_faces, by_day);
                if by_day { self.local.holding(at).next - 1 } else { at }
            });
            self.facts.sites.insert(site.get(row));
            self.register_rows += 1;
            let key = self.keys.end_face(self.naming, end_face.get(row), site_word.get(row), side);
            self.hear(Table::EndFaces, site.get(row), key, end_face.get(row));
            self.push(&Event {
                key,
                at: i64::MIN,
                seq: self.register_rows,
                identity: identity.get(row),
                ends,
                site: site.get(row),
                family: family.get(row),
                supplier: supplier.get(row),
                source: self.source,
                kind: kind::REGISTER,
                side,
                optic: optic.get(row) as u8,
                ..Event::default()
            })?;
        }
        Ok(())
    }

    fn cleanings(&mut self, batch: &RecordBatch) -> Result<(), DeriveError> {
        let lists = self.shared.lists;
        let common = Common::of(batch, lists)?;
        let end_face = Texts::of(batch, "end_face")?;
        let method = listed(batch, "method", &lists.method)?;
        let tool = listed(batch, "tool", &lists.device)?;
        let side = fixed(batch, "side", Side::WORDS)?;
        for row in 0..batch.num_rows() {
            let Some((at, by_day)) = common.at(row) else { continue };
            let side = side.get(row) as u8;
            let name = end_face.get(row);
            let key = self.keys.end_face(self.naming, name, common.site(row), side);
            let event = Event {
                key,
                device: tool.get(row),
                detail: method.get(row),
                side,
                ..common.event(row, at, kind::CLEANING, self.source, &mut self.keys)
            };
            self.hear(Table::Cleanings, event.site, key, name);
            self.facts.seen(event.site, at);
            let day = self.fleet.holding(at);
            self.facts.month(event.site, day).cleanings += 1;
            note(&mut self.precision.cleanings, by_day);
            self.push(&event)?;
        }
        Ok(())
    }
}
