//! R7: people's names become pseudonyms when a row is typed.

use std::collections::BTreeSet;
use std::fmt;

/// Alphabet of RFC 4648, section 6, in small letters.
const ALPHABET: &[u8; 32] = b"abcdefghijklmnopqrstuvwxyz234567";

/// What the key for recognising forgotten names is derived for, so that it is another than that of the
/// pseudonyms.
const FORGOTTEN: &str = "motetrail 2026 names that were forgotten";

/// The key without which a pseudonym cannot be traced to a name.
#[derive(Clone)]
pub struct PeopleKey {
    secret: [u8; 32],
    forgotten: BTreeSet<String>,
}

impl PeopleKey {
    /// A key of 32 secret bytes that has forgotten nobody.
    pub fn new(secret: [u8; 32]) -> Self {
        Self { secret, forgotten: BTreeSet::new() }
    }

    /// The same key, with these [`PeopleKey::forgotten_hash`]es of names that get no pseudonym.
    pub fn forgetting(mut self, hashes: impl IntoIterator<Item = String>) -> Self {
        self.forgotten = hashes.into_iter().collect();
        self
    }

    /// What is remembered of a name that must not come back: a keyed BLAKE3 hash, hex. It is no
    /// pseudonym, and without the key it is nobody's name.
    pub fn forgotten_hash(&self, name: &str) -> String {
        let key = blake3::derive_key(FORGOTTEN, &self.secret);
        blake3::keyed_hash(&key, name.as_bytes()).to_hex().to_string()
    }

    /// The name's pseudonym; none if the name was forgotten.
    pub fn pseudonym(&self, name: &str) -> Option<String> {
        let forgotten =
            !self.forgotten.is_empty() && self.forgotten.contains(&self.forgotten_hash(name));
        (!forgotten).then(|| self.pseudonym_of(name))
    }

    /// `p-` and 12 characters of base32: the first 60 bits of the name's keyed BLAKE3 hash.
    /// Two of 100,000 people share one with a probability below 1 in 200 million.
    pub fn pseudonym_of(&self, name: &str) -> String {
        let hash = blake3::keyed_hash(&self.secret, name.as_bytes());
        let bits =
            hash.as_bytes().iter().take(8).fold(0u64, |bits, byte| bits << 8 | u64::from(*byte));
        let letters = (0..12).map(|place| {
            let index = bits >> (64 - 5 * (place + 1)) & 31;
            char::from(ALPHABET[index as usize])
        });
        "p-".chars().chain(letters).collect()
    }
}

impl fmt::Debug for PeopleKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("PeopleKey(***)")
    }
}
