//! Words of coded columns: the map's values, the closed list, people's pseudonyms, and their keys.
//!
//! A word is worked out once; after that its raw text finds its key. Nearly all words of a coded
//! column are short and few, so a small table of those is tried first.

use rustc_hash::FxHashMap;

use crate::intake::columns::dictionary::Dictionary;
use crate::intake::columns::short_words::{Packed, ShortWords};
use crate::intake::people::key::PeopleKey;

/// Bytes of raw words remembered before all are forgotten.
const MOST_BYTES: usize = 4 << 20;

/// What becomes of a word that is not given or not one of the map's values.
#[derive(Debug)]
pub enum Taken<'a> {
    /// Any word.
    Free,
    /// Only these.
    Listed(Vec<&'a str>),
    /// A name, kept as its pseudonym.
    Person(&'a PeopleKey),
}

/// Reads one coded column of one part of a map.
#[derive(Debug)]
pub struct CodeReader<'a> {
    taken: Taken<'a>,
    short: ShortWords,
    known: FxHashMap<Box<str>, Option<i32>>,
    bytes: usize,
    generation: u32,
}

impl<'a> CodeReader<'a> {
    /// A reader that has seen nothing.
    pub fn new(taken: Taken<'a>) -> Self {
        Self {
            taken,
            short: ShortWords::new(),
            known: FxHashMap::default(),
            bytes: 0,
            generation: 0,
        }
    }

    /// The key that `raw` was found to have, if it was seen before; inside, none means not given.
    pub fn remembered(&mut self, raw: &str, dictionary: &Dictionary) -> Option<Option<i32>> {
        if self.generation != dictionary.generation() {
            self.forget();
            self.generation = dictionary.generation();
        }
        let packed = Packed::of(raw);
        if let Some(key) = packed.and_then(|packed| self.short.get(packed)) {
            return Some(key);
        }
        let key = *self.known.get(raw)?;
        if let Some(packed) = packed {
            self.short.put(packed, key);
        }
        Some(key)
    }

    /// Works out the key of a word that `raw` stands for and remembers it.
    ///
    /// # Errors
    /// When the word is not in the list.
    pub fn learn(
        &mut self,
        raw: &str,
        word: Option<&str>,
        dictionary: &mut Dictionary,
    ) -> Result<Option<i32>, NotListed> {
        let key = match (word, &self.taken) {
            (None, _) => None,
            (Some(word), Taken::Free) => Some(dictionary.key(word)),
            (Some(name), Taken::Person(key)) => {
                key.pseudonym(name).map(|pseudonym| dictionary.key(&pseudonym))
            }
            (Some(word), Taken::Listed(words)) if words.contains(&word) => {
                Some(dictionary.key(word))
            }
            (Some(_), Taken::Listed(_)) => return Err(NotListed),
        };
        if self.bytes > MOST_BYTES {
            self.forget();
        }
        self.bytes += raw.len() + size_of::<Box<str>>();
        self.known.insert(raw.into(), key);
        Ok(key)
    }

    /// The closed list, if there is one.
    pub fn listed(&self) -> Option<&[&'a str]> {
        match &self.taken {
            Taken::Listed(words) => Some(words),
            _ => None,
        }
    }

    fn forget(&mut self) {
        self.known.clear();
        self.short = ShortWords::new();
        self.bytes = 0;
    }
}

/// A word outside its closed list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NotListed;
