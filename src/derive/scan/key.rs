//! Who an end face is: one 128-bit key from its name and, where the source says so, its site and side.

use bytemuck::{Pod, Zeroable};
use xxhash_rust::xxh3::xxh3_128;

use crate::settings::NameScope;

/// Key of an end face. 128 bits, so that two names never meet by chance (at 10^9 end faces the
/// chance is below 10^-20).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Pod, Zeroable)]
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

/// How a source names end faces (R1).
#[derive(Clone, Copy, Debug)]
pub struct Naming {
    /// How far a name is unique.
    pub scope: NameScope,
    /// The two sides of an adapter share a name.
    pub one_name_both_sides: bool,
}

/// Makes keys, reusing one buffer.
#[derive(Default)]
pub struct Keys {
    buffer: Vec<u8>,
}

impl Keys {
    /// Key of the end face so named; [`Key::NONE`] where the side is needed and missing.
    ///
    /// `side` is 0 where not known. Lengths go into the hash, so no two fields can run together.
    pub fn end_face(&mut self, naming: Naming, name: &str, site: &str, side: u8) -> Key {
        if name.is_empty() || (naming.one_name_both_sides && side == 0) {
            return Key::NONE;
        }
        self.start(name);
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
        self.start(record);
        self.buffer.push(b'm');
        self.buffer.extend_from_slice(site.as_bytes());
        Key::of_bytes(&self.buffer)
    }

    /// Hash of a work order's name; never 0, which stands for none.
    pub fn work_order(&mut self, name: &str) -> u64 {
        xxhash_rust::xxh3::xxh3_64(name.as_bytes()).max(1)
    }

    fn start(&mut self, name: &str) {
        self.buffer.clear();
        self.buffer.extend_from_slice(&(name.len() as u64).to_le_bytes());
        self.buffer.extend_from_slice(name.as_bytes());
    }
}
