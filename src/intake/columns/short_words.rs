//! Keys of short words, found without hashing or comparing texts.

/// Places of the table, a power of two.
const PLACES: usize = 64;
/// Longest word that is packed, bytes.
const LONGEST: usize = 16;

/// A word of at most sixteen bytes as numbers: equal if and only if the words are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Packed {
    length: u8,
    /// Its first bytes and its last, which overlap where it has fewer than both hold.
    ends: [u64; 2],
}

impl Packed {
    /// Packs a word; none if it is too long.
    pub fn of(word: &str) -> Option<Self> {
        let bytes = word.as_bytes();
        let ends = match bytes {
            [] => [0, 0],
            [a] => [u64::from(*a), 0],
            [a, b] => [u64::from(*a) | u64::from(*b) << 8, 0],
            [a, b, c] => [u64::from(*a) | u64::from(*b) << 8 | u64::from(*c) << 16, 0],
            _ if bytes.len() < 8 => {
                let (first, last) = (bytes.first_chunk::<4>()?, bytes.last_chunk::<4>()?);
                [u32::from_le_bytes(*first).into(), u32::from_le_bytes(*last).into()]
            }
            _ if bytes.len() <= LONGEST => {
                let (first, last) = (bytes.first_chunk::<8>()?, bytes.last_chunk::<8>()?);
                [u64::from_le_bytes(*first), u64::from_le_bytes(*last)]
            }
            _ => return None,
        };
        Some(Self { length: bytes.len() as u8, ends })
    }

    fn place(self) -> usize {
        let [first, last] = self.ends;
        let mixed = (first ^ last.rotate_left(23) ^ u64::from(self.length))
            .wrapping_mul(0x9E37_79B9_7F4A_7C15);
        (mixed >> (u64::BITS - PLACES.ilog2())) as usize
    }
}

/// The last word at a place with its key, where none means not given.
type Place = Option<(Packed, Option<i32>)>;

/// The last word at each place.
#[derive(Debug)]
pub struct ShortWords {
    places: Box<[Place; PLACES]>,
}

impl ShortWords {
    /// An empty table.
    pub fn new() -> Self {
        Self { places: Box::new([None; PLACES]) }
    }

    /// The key of a word, if it is the last at its place.
    pub fn get(&self, word: Packed) -> Option<Option<i32>> {
        self.places[word.place()].filter(|(held, _)| *held == word).map(|(_, key)| key)
    }

    /// Puts a word at its place.
    pub fn put(&mut self, word: Packed, key: Option<i32>) {
        self.places[word.place()] = Some((word, key));
    }
}
