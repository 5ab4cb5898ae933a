//! Who an end face is: one 128-bit key from its name and, where the source says so, its site and side.

use std::borrow::Cow;

use bytemuck::{Pod, Zeroable};
use rustc_hash::FxHashMap;
use serde::{Deserialize, Serialize};
use xxhash_rust::xxh3::xxh3_128;

use crate::intake::{Spelling, Spellings};
use crate::settings::NameScope;
use crate::store::PartInfo;

/// Key of an end face. 128 bits, so that two names never meet by chance (at 10^9 end faces the
/// chance is below 10^-20).
#[derive(
    Clone,
    Copy,
    Debug,
    Default,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    Pod,
    Zeroable,
    Serialize,
    Deserialize,
)]
#[repr(C)]
pub struct Key {
    /// Upper half of the hash.
    pub high: u64,
    /// Lower half of the hash.
    pub low: u64,
}

impl Key {
    /// Stands for "not identified".
    pub const NONE: Key = Key { high: 0, low: 0 };

    /// Whether it names an end face.
    pub fn is_known(self) -> bool {
        self != Key::NONE
    }

    fn of_bytes(bytes: &[u8]) -> Key {
        let hash = xxh3_128(bytes);
        Key { high: (hash >> 64) as u64, low: hash as u64 }
    }
}

/// How a source names end faces (R1, R8).
#[derive(Clone, Copy, Debug)]
pub struct Naming<'s> {
    /// How far a name is unique.
    pub scope: NameScope,
    /// The two sides of an adapter share a name.
    pub one_name_both_sides: bool,
    /// Place of the source by name.
    source: usize,
    /// What its rules make of a written name; none where names stay as they are written.
    spelling: Option<&'s Spelling>,
}

impl<'s> Naming<'s> {
    /// How the records of a part name end faces.
    pub fn of(part: &PartInfo, spellings: &'s Spellings) -> Naming<'s> {
        let spelling = spellings.of_source(&part.source);
        Naming {
            scope: part.scope,
            one_name_both_sides: part.one_name_both_sides,
            source: part.source_index,
            spelling: Some(spelling).filter(|spelling| !spelling.is_plain()),
        }
    }

    /// A written name as the source's rules spell it.
    pub fn spelled<'t>(&self, written: &'t str) -> Cow<'t, str>
    where
        's: 't,
    {
        self.spelling.map_or(Cow::Borrowed(written), |spelling| spelling.spelled(written))
    }

    /// Before any part: names as they are written, unique in the fleet.
    pub fn of_none() -> Naming<'s> {
        let scope = NameScope::Fleet;
        Naming { scope, one_name_both_sides: false, source: usize::MAX, spelling: None }
    }
}

/// Most spelled names that are kept at hand: rules are applied once a name, not once a row.
const MOST_SPELLED: usize = 1 << 18;

/// Names of one source as its rules spell them, by the hash of the written form.
#[derive(Default)]
struct Spelled {
    source: usize,
    names: FxHashMap<u128, Box<str>>,
}

impl Spelled {
    fn name(&mut self, source: usize, spelling: &Spelling, written: &str) -> &str {
        if self.source != source || self.names.len() >= MOST_SPELLED {
            self.names.clear();
            self.source = source;
        }
        let hash = xxh3_128(written.as_bytes());
        self.names.entry(hash).or_insert_with(|| spelling.spelled(written).into())
    }
}

/// Makes keys, reusing one buffer.
#[derive(Default)]
pub struct Keys {
    buffer: Vec<u8>,
    spelled: Spelled,
}

impl Keys {
    /// Key of the end face so named, as the source's rules spell it; [`Key::NONE`] where the side is needed and missing.
    ///
    /// `side` is 0 where not known. Lengths go into the hash, so no two fields can run together.
    pub fn end_face(&mut self, naming: Naming, name: &str, site: &str, side: u8) -> Key {
        if name.is_empty() || (naming.one_name_both_sides && side == 0) {
            return Key::NONE;
        }
        let name = match naming.spelling {
            Some(spelling) => self.spelled.name(naming.source, spelling, name),
            None => name,
        };
        start(&mut self.buffer, name);
        if naming.scope == NameScope::Site {
            self.buffer.push(b's');
            self.buffer.extend_from_slice(site.as_bytes());
        }
        if naming.one_name_both_sides {
            self.buffer.push(side);
        }
        Key::of_bytes(&self.buffer)
    }

    /// Key by which a fault names a mating: the record within its site (F2).
    pub fn mating(&mut self, record: &str, site: &str) -> Key {
        start(&mut self.buffer, record);
        self.buffer.push(b'm');
        self.buffer.extend_from_slice(site.as_bytes());
        Key::of_bytes(&self.buffer)
    }

    /// Hash of a work order's name; never 0, which stands for none.
    pub fn work_order(&mut self, name: &str) -> u64 {
        xxhash_rust::xxh3::xxh3_64(name.as_bytes()).max(1)
    }
}

fn start(buffer: &mut Vec<u8>, name: &str) {
    buffer.clear();
    buffer.extend_from_slice(&(name.len() as u64).to_le_bytes());
    buffer.extend_from_slice(name.as_bytes());
}
