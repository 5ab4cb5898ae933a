//! How records are spread over the buckets of the spills.

/// Most buckets that one pass writes on one machine.
pub const MOST_BUCKETS: usize = 256;
/// The same where a cluster works on them: a worker holds one bucket at a time.
pub const MOST_SHARED_BUCKETS: usize = 4096;
/// Records that a bucket should not much exceed, so that sorting it stays in the cache.
const BUCKET_RECORDS: u64 = 16_384;

/// How records are spread over buckets.
#[derive(Clone, Copy, Debug)]
pub struct Spread {
    bits: u32,
    /// Matings in each bucket of matings.
    pub matings_per_bucket: u64,
    most: usize,
}

impl Spread {
    /// For so many records in all, matings counted once more, and so many matings, in at most so many buckets.
    pub fn of(records: u64, matings: u64, most: usize) -> Spread {
        let buckets = (records / BUCKET_RECORDS + 1).next_power_of_two().min(most as u64);
        Spread {
            bits: buckets.trailing_zeros(),
            matings_per_bucket: matings.div_ceil(most as u64).max(BUCKET_RECORDS),
            most,
        }
    }

    /// How many buckets of end faces there are.
    pub fn faces(&self) -> usize {
        1 << self.bits
    }

    /// How many buckets of matings there are at most.
    pub fn matings(&self) -> usize {
        self.most + 1
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
