//! R1 and promise 2: the fingerprints by which repeated and superseded records are found.
//!
//! They depend on what was typed and on nothing else: not on the file, the row's place in it, nor
//! on how often a word occurred before.

use xxhash_rust::xxh3::{xxh3_64, xxh3_128};

use super::batch::{Slot, TableBatch};

/// Fingerprints of one record.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Identity {
    /// Of table and record id; of table and content where there is no id. XXH3, 128 bits.
    pub identity: [u8; 16],
    /// Of the end face, or both, with side and fibre. XXH3, 64 bits.
    pub member: u64,
    /// Of all that was typed. XXH3, 64 bits.
    pub content: u64,
}

/// Takes fingerprints of the last record filled into a batch.
#[derive(Debug)]
pub struct Fingerprints {
    record: Slot,
    /// The columns that tell members of one record apart.
    member: Vec<Slot>,
    /// All columns that are filled.
    content: Vec<Slot>,
    seq: Slot,
    bytes: Vec<u8>,
}

const MEMBER: [&str; 6] = ["end_face", "end_face_a", "end_face_b", "side", "side_a", "side_b"];

impl Fingerprints {
    /// Prepares for the columns of a batch.
    pub fn of(batch: &TableBatch) -> Self {
        Self {
            record: batch.slot("record"),
            member: MEMBER.iter().chain(&["fibre"]).map(|name| batch.slot(name)).collect(),
            content: batch.slots.clone(),
            seq: batch.slot("seq"),
            bytes: Vec::new(),
        }
    }

    /// Takes them. A `seq` that the export did not give is left out.
    pub fn take(&mut self, batch: &TableBatch, seq_given: bool) -> Identity {
        self.bytes.clear();
        self.bytes.push(batch.table as u8);
        for (place, &slot) in self.content.iter().enumerate() {
            if slot != self.seq || seq_given {
                append(batch, place, slot, &mut self.bytes);
            }
        }
        let content = xxh3_64(&self.bytes);
        let identity = match last_text(batch, self.record) {
            Some(record) => {
                self.bytes.clear();
                self.bytes.extend_from_slice(b"record");
                self.bytes.push(batch.table as u8);
                self.bytes.extend_from_slice(record);
                xxh3_128(&self.bytes)
            }
            None => xxh3_128(&self.bytes),
        };
        self.bytes.clear();
        for (place, &slot) in self.member.iter().enumerate() {
            append(batch, place, slot, &mut self.bytes);
        }
        Identity { identity: identity.to_be_bytes(), member: xxh3_64(&self.bytes), content }
    }
}

fn last_text(batch: &TableBatch, slot: Slot) -> Option<&[u8]> {
    match slot {
        Slot::Text(at) => batch.texts[at].last(),
        _ => None,
    }
}

/// Appends a value of the last row so that no two rows of values give the same bytes: its column's
/// place, then a fixed length or a length and a text. Nothing for null.
fn append(batch: &TableBatch, place: usize, slot: Slot, bytes: &mut Vec<u8>) {
    let mut fixed = |value: u64, more: u8| {
        let mut entry = [place as u8, more, 0, 0, 0, 0, 0, 0, 0, 0];
        entry[2..].copy_from_slice(&value.to_le_bytes());
        bytes.extend_from_slice(&entry);
    };
    match slot {
        Slot::Text(at) => {
            if let Some(text) = batch.texts[at].last() {
                fixed(text.len() as u64, 0);
                bytes.extend_from_slice(text);
            }
        }
        Slot::Words(at) => {
            let words = &batch.words[at];
            if let Some(key) = words.keys.last() {
                fixed(words.dictionary.hash(key), 0);
            }
        }
        Slot::Time(at) => {
            if let Some((micros, precision)) = batch.times[at].last() {
                fixed(micros as u64, precision as u8);
            }
        }
        Slot::Number(at) => {
            if let Some(number) = batch.numbers[at].last() {
                fixed(number as u64, 0);
            }
        }
        Slot::Flag(at) => {
            if let Some(flag) = batch.flags[at].last() {
                fixed(u64::from(flag), 0);
            }
        }
        Slot::Absent => {}
    }
}
