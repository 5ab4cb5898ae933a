//! R7: people's names become pseudonyms when a row is typed.

use std::fmt;

/// Alphabet of RFC 4648, section 6, in small letters.
const ALPHABET: &[u8; 32] = b"abcdefghijklmnopqrstuvwxyz234567";

/// The key without which a pseudonym cannot be traced to a name.
#[derive(Clone)]
pub struct PeopleKey([u8; 32]);

impl PeopleKey {
    /// A key of 32 secret bytes.
    pub fn new(secret: [u8; 32]) -> Self {
        Self(secret)
    }

    /// `p-` and 12 characters of base32: the first 60 bits of the name's keyed BLAKE3 hash.
    /// Two of 100,000 people share one with a probability below 1 in 200 million.
    pub fn pseudonym(&self, name: &str) -> String {
        let hash = blake3::keyed_hash(&self.0, name.as_bytes());
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
