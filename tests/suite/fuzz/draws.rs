//! Numbers and changed inputs out of a stated seed.

/// Longest input, bytes.
const LONGEST: usize = 64 << 10;

/// Pieces that readers of text trip over.
const PIECES: [&[u8]; 30] = [
    b"\"",
    b"\"\"",
    b"'",
    b"\\",
    b",",
    b";",
    b"\t",
    b"\r\n",
    b"\r",
    b"\n",
    b"\0",
    b"\xFF",
    b"\xEF\xBB\xBF",
    b"\xFF\xFE",
    b"\xED\xA0\x80",
    b"\xF0\x9F\x98\x80",
    b"99999",
    b"-1",
    b"9223372036854775808",
    b"1e999",
    b"%",
    b"%Y",
    b"%%",
    b"[[source]]",
    b"[",
    b"{",
    b"}",
    b"=",
    b"null",
    b"\xE2\x80\xAE",
];

/// A generator of numbers.
///
/// Source: Steele, Lea & Flood (2014), "Fast splittable pseudorandom number generators", OOPSLA,
/// the SplitMix64 mixer [from memory].
pub struct Draws(u64);

impl Draws {
    /// Draws that begin at a seed.
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ mixed >> 30).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ mixed >> 27).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ mixed >> 31
    }

    /// A number below `limit`; 0 if there is none.
    pub fn below(&mut self, limit: usize) -> usize {
        (self.next() % limit.max(1) as u64) as usize
    }

    /// A number from 0 to 1.
    pub fn share(&mut self) -> f64 {
        self.next() as f64 / u64::MAX as f64
    }

    /// A changed seed; now and then bytes out of nowhere.
    pub fn input(&mut self, seeds: &[Vec<u8>]) -> Vec<u8> {
        if self.below(10) == 0 {
            return (0..self.below(600)).map(|_| self.next() as u8).collect();
        }
        let mut input = seeds[self.below(seeds.len())].clone();
        for _ in 0..=self.below(6) {
            self.change(&mut input, seeds);
        }
        input.truncate(LONGEST);
        input
    }

    fn change(&mut self, input: &mut Vec<u8>, seeds: &[Vec<u8>]) {
        let (from, to) = self.range(input.len());
        match self.below(8) {
            0 if from < input.len() => input[from] ^= 1 << self.below(8),
            1 if from < input.len() => input[from] = self.next() as u8,
            2 => drop(input.drain(from..to)),
            3 => input.truncate(from),
            4 => {
                let copy = input[from..to].repeat(1 + self.below(4));
                input.splice(from..from, copy);
            }
            5 => {
                let other = &seeds[self.below(seeds.len())];
                let (first, last) = self.range(other.len());
                input.splice(from..to, other[first..last].iter().copied());
            }
            6 => {
                let piece = PIECES[self.below(PIECES.len())].repeat(1 << self.below(3));
                input.splice(from..from, piece);
            }
            _ => {
                let piece = PIECES[self.below(PIECES.len())];
                let to = to.min(from + piece.len());
                input.splice(from..to, piece.iter().copied());
            }
        }
    }

    /// A stretch within a length; mostly a short one.
    fn range(&mut self, length: usize) -> (usize, usize) {
        let from = self.below(length + 1);
        let reach = if self.below(4) == 0 { length } else { 12 };
        (from, length.min(from + self.below(reach + 1)))
    }
}
