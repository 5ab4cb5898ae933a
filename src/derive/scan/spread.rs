//! How records are spread over the buckets of the spills.

/// Most buckets that one pass writes.
pub const MOST_BUCKETS: usize = 256;
/// Records that a bucket should not much exceed, so that sorting it stays in the cache.
const BUCKET_RECORDS: u64 = 65_536;

/// How records are spread over buckets.
#[derive(Clone, Copy, Debug)]
pub struct Spread {
    bits: u32,
    /// Matings in each bucket of matings.
    pub matings_per_bucket: u64,
}

impl Spread {
    /// For so many records in all, matings counted once more, and so many matings.
    pub fn of(records: u64, matings: u64) -> Spread {
        let buckets = (records / BUCKET_RECORDS + 1).next_power_of_two().min(MOST_BUCKETS as u64);
        Spread {
            bits: buckets.trailing_zeros(),
            matings_per_bucket: matings.div_ceil(MOST_BUCKETS as u64).max(BUCKET_RECORDS),
        }
    }

    /// How many buckets of end faces there are.
    pub fn faces(&self) -> usize {
        1 << self.bits
    }

    /// The bucket of an end face.
    pub fn face(&self, high: u64) -> usize {
        high.checked_shr(64 - self.bits).unwrap_or(0) as usize
    }

    /// The bucket of a mating.
    pub fn mating(&self, number: u64) -> usize {
        (number / self.matings_per_bucket) as usize
    }
}
