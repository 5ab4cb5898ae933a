//! The words of one dictionary column, numbered in the order of their first use.

use std::sync::Arc;

use arrow::array::{ArrayRef, StringArray};
use rustc_hash::FxHashMap;
use xxhash_rust::xxh3::xxh3_64;

/// Beyond these a dictionary starts anew with the next batch.
const MOST_WORDS: usize = 65_536;
const MOST_BYTES: usize = 4 << 20;
/// What a word takes besides its text: two boxes, a hash, a place in the table.
const WORD_BYTES: usize = 64;

/// Words with their keys. Grows over the batches of a file.
#[derive(Debug, Default)]
pub struct Dictionary {
    words: Vec<Box<str>>,
    hashes: Vec<u64>,
    keys: FxHashMap<Box<str>, i32>,
    bytes: usize,
    /// Changes whenever keys lose their meaning.
    generation: u32,
    built: Option<ArrayRef>,
}

impl Dictionary {
    /// The key of a word, a new one if it has none.
    pub fn key(&mut self, word: &str) -> i32 {
        if let Some(key) = self.keys.get(word) {
            return *key;
        }
        let key = i32::try_from(self.words.len())
            .expect("a dictionary is renewed long before it has 2^31 words");
        self.words.push(word.into());
        self.hashes.push(xxh3_64(word.as_bytes()));
        self.keys.insert(word.into(), key);
        self.bytes += word.len();
        self.built = None;
        key
    }

    /// The word of a key that [`Dictionary::key`] gave in this generation.
    pub fn word(&self, key: i32) -> &str {
        &self.words[key as usize]
    }

    /// Hash of that word: the same in every file.
    pub fn hash(&self, key: i32) -> u64 {
        self.hashes[key as usize]
    }

    /// Bytes that it takes, roughly.
    pub fn size(&self) -> usize {
        self.bytes + WORD_BYTES * self.words.len()
    }

    /// Keys kept elsewhere hold as long as this is the same.
    pub fn generation(&self) -> u32 {
        self.generation
    }

    /// The words as an array; the same one until a word is added.
    pub fn array(&mut self) -> ArrayRef {
        let words = &self.words;
        self.built.get_or_insert_with(|| Arc::new(StringArray::from_iter_values(words))).clone()
    }

    /// To be called when no key is in use: forgets everything if there is too much of it.
    pub fn renew(&mut self) {
        if self.words.len() > MOST_WORDS || self.bytes > MOST_BYTES {
            *self = Self { generation: self.generation + 1, ..Self::default() };
        }
    }
}
