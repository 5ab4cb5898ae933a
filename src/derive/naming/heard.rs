//! The distinct names of end faces that records have, by source, table and site.
//!
//! Of a large fleet a sample: the names whose hash begins with so many zeros. The hash is of the loosest spelling, so
//! that two spellings of a name are in the sample or out of it together. Which names are kept depends on the names alone,
//! not on the threads that met them.

use std::borrow::Cow;

use rustc_hash::FxHashMap;
use serde::{Deserialize, Serialize};

use super::looser::loosest_hash;
use crate::derive::scan::key::Key;
use crate::records::Table;

/// Names kept for each MiB that a pass may plan for, of all voices together: some tenth of it.
const NAMES_A_MIB: usize = 800;
/// Keys noted last: records that follow one another name the same end face.
const SLOTS: usize = 1 << 14;

/// Who names end faces: one table of one source at one site.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Voice {
    /// Code of the site.
    pub site: u32,
    /// What its records are.
    pub table: Table,
    /// Place of the source by name.
    pub source: u16,
}

impl Voice {
    /// A table of a source at a site.
    pub fn of(table: Table, source: u16, site: u32) -> Voice {
        Voice { site, table, source }
    }

    /// A number that tells voices apart in the slots.
    fn mixed(self) -> u64 {
        let code = u64::from(self.site) << 24 | u64::from(self.source) << 8 | self.table as u64;
        code.wrapping_mul(0x9E37_79B9_7F4A_7C15)
    }
}

/// Names of one voice, as the rules spell them, by key.
pub type NamesOf = FxHashMap<Key, Box<str>>;

/// The names heard so far.
#[derive(Serialize, Deserialize)]
pub struct Heard {
    #[serde(skip, default = "no_slots")]
    slots: Vec<u64>,
    /// Names are kept whose hash begins with so many zeros.
    level: u32,
    voices: FxHashMap<Voice, NamesOf>,
    names: usize,
    most: usize,
}

/// Nothing noted last.
fn no_slots() -> Vec<u64> {
    vec![0; SLOTS]
}

impl Heard {
    /// Keeps as many names as fit into a part of so many MiB.
    pub fn within(memory_mib: u32) -> Heard {
        let most = NAMES_A_MIB * memory_mib as usize;
        Heard { slots: no_slots(), level: 0, voices: FxHashMap::default(), names: 0, most }
    }

    /// Notes that a voice names the end face of a key; `spelled` gives the name as the rules spell it.
    #[inline]
    pub fn note<'t>(&mut self, voice: Voice, key: Key, spelled: impl FnOnce() -> Cow<'t, str>) {
        let mark = key.low ^ voice.mixed();
        let slot = &mut self.slots[mark as usize % SLOTS];
        if *slot != mark && key.is_known() {
            *slot = mark;
            self.keep(voice, key, &spelled());
        }
    }

    #[inline(never)]
    fn keep(&mut self, voice: Voice, key: Key, spelled: &str) {
        if !self.takes(spelled) {
            return;
        }
        let names = self.voices.entry(voice).or_default();
        if names.contains_key(&key) {
            return;
        }
        names.insert(key, spelled.into());
        self.names += 1;
        while self.names > self.most {
            self.thin_out(self.level + 1);
        }
    }

    fn takes(&self, spelled: &str) -> bool {
        self.level == 0 || loosest_hash(spelled).leading_zeros() >= self.level
    }

    fn thin_out(&mut self, level: u32) {
        self.level = level;
        for names in self.voices.values_mut() {
            names.retain(|_, name| loosest_hash(name).leading_zeros() >= level);
        }
        self.names = self.voices.values().map(|names| names.len()).sum();
    }

    /// The names of both.
    pub fn merge(mut self, mut other: Heard) -> Heard {
        let level = self.level.max(other.level);
        for heard in [&mut self, &mut other].into_iter().filter(|heard| heard.level < level) {
            heard.thin_out(level);
        }
        for (voice, names) in other.voices {
            for (key, name) in names {
                self.keep(voice, key, &name);
            }
        }
        self
    }

    /// The names of every voice.
    pub fn voices(&self) -> &FxHashMap<Voice, NamesOf> {
        &self.voices
    }

    /// Of how many names one is here.
    pub fn one_in(&self) -> u64 {
        1_u64.checked_shl(self.level).unwrap_or(u64::MAX)
    }
}
