//! R1 and promise 2: the fingerprints by which repeated and superseded records are found.
//!
//! They depend on what was typed and on nothing else: not on the file, the row's place in it, nor
//! on how often a word occurred before.

use xxhash_rust::xxh3::{xxh3_64, xxh3_128};

use crate::intake::columns::batch::{Slot, TableBatch};
use crate::intake::columns::identity::Identity;
use crate::records::{MEMBER_COLUMNS, Table};

/// Takes fingerprints of the last record filled into a batch.
#[derive(Debug)]
pub struct Fingerprints {
    record: Slot,
    /// The columns that tell members of one record apart.
    member: Vec<Slot>,
    /// All columns that are filled.
    content: Vec<Slot>,
    seq: Slot,
    /// Room for a table and a record id.
    bytes: Vec<u8>,
}

impl Fingerprints {
    /// Prepares for the columns of a batch.
    pub fn of(batch: &TableBatch) -> Self {
        Self {
            record: batch.slot("record"),
            member: MEMBER_COLUMNS.iter().map(|name| batch.slot(name)).collect(),
            content: batch.slots.clone(),
            seq: batch.slot("seq"),
            bytes: Vec::new(),
        }
    }

    /// Takes them. A `seq` that the export did not give is left out.
    pub fn take(&mut self, batch: &TableBatch, seq_given: bool) -> Identity {
        let [mut content, mut beside] = content_lanes(batch.table);
        let record = last_text(batch, self.record);
        for (place, &slot) in self.content.iter().enumerate() {
            if (slot != self.seq || seq_given)
                && let Some(value) = value(batch, slot)
            {
                content.add(place, value);
                // The second half is only asked for where there is no record id.
                if record.is_none() {
                    beside.add(place, value);
                }
            }
        }
        let identity = match record {
            Some(record) => {
                self.bytes.clear();
                self.bytes.push(batch.table as u8);
                self.bytes.extend_from_slice(record);
                xxh3_128(&self.bytes)
            }
            None => u128::from(content.sum) << 64 | u128::from(beside.sum),
        };
        let mut member = Fold::new(batch.table as u64, 3);
        for (place, &slot) in self.member.iter().enumerate() {
            if let Some(value) = value(batch, slot) {
                member.add(place, value);
            }
        }
        Identity { identity: identity.to_be_bytes(), member: member.sum, content: content.sum }
    }
}

/// The folds of a record's content and of the other half of its identity.
fn content_lanes(table: Table) -> [Fold; 2] {
    [1, 2].map(|lane| Fold::new(table as u64, lane))
}

/// Content and the other half of the identity of a record with these values at their places, rising.
pub(in crate::intake) fn content_of(
    table: Table,
    values: impl Iterator<Item = (usize, u64)>,
) -> (u64, u64) {
    let [mut content, mut beside] = content_lanes(table);
    for (place, value) in values {
        content.add(place, value);
        beside.add(place, value);
    }
    (content.sum, beside.sum)
}

/// A time and the place of its precision as one value. No time needs the two highest bits.
pub(in crate::intake) fn time_value(micros: i64, precision: i32) -> u64 {
    micros as u64 ^ (precision as u64) << 62
}

/// A running fingerprint of values at places, 64 bits: each value is mixed in by a multiplication with
/// an odd number of its place, both halves of the product folded together (the mixing step of
/// multiply-fold hashes). Accidents only: two of ten million records share one with a probability
/// below 1 in 20,000; whoever wants two records to look alike writes the same record twice.
#[derive(Clone, Copy, Debug)]
struct Fold {
    lane: u64,
    sum: u64,
}

/// The golden ratio's fraction, 64 bits, odd: multiples of it are spread evenly (Knuth, The Art of
/// Computer Programming 3, section 6.4).
const GOLDEN: u64 = 0x9E37_79B9_7F4A_7C15;

impl Fold {
    fn new(table: u64, lane: u64) -> Self {
        let mut fold = Self { lane: lane.wrapping_mul(GOLDEN), sum: GOLDEN };
        fold.add(usize::MAX, table);
        fold
    }

    fn add(&mut self, place: usize, value: u64) {
        let key = (place as u64).wrapping_add(1).wrapping_mul(GOLDEN).wrapping_add(self.lane) | 1;
        let product = u128::from(self.sum ^ value ^ self.lane) * u128::from(key);
        self.sum = (product as u64 ^ (product >> 64) as u64).wrapping_add(key.rotate_left(29));
    }
}

fn last_text(batch: &TableBatch, slot: Slot) -> Option<&[u8]> {
    match slot {
        Slot::Text(at) => batch.texts[at].last(),
        _ => None,
    }
}

/// What the last row has in a column, as 64 bits: a hash of a text, else the value itself; none for
/// null.
fn value(batch: &TableBatch, slot: Slot) -> Option<u64> {
    match slot {
        Slot::Text(at) => batch.texts[at].last().map(xxh3_64),
        Slot::Words(at) => {
            let words = &batch.words[at];
            words.keys.last().map(|key| words.dictionary.hash(key))
        }
        Slot::Time(at) => {
            let time = batch.times[at].last();
            time.map(|(micros, precision)| time_value(micros, precision))
        }
        Slot::Number(at) => batch.numbers[at].last().map(|number| number as u64),
        Slot::Flag(at) => batch.flags[at].last().map(u64::from),
        Slot::Absent => None,
    }
}
