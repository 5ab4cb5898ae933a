//! What a report is made of.

use crate::measures::Review;
use crate::store::FileAccount;

/// What a report is made of.
#[derive(Clone, Debug)]
pub struct Inputs<'a> {
    /// The finished measures.
    pub review: &'a Review,
    /// What became of the rows of every file, in any order.
    pub accounts: &'a [FileAccount],
    /// Seed of every draw.
    pub seed: u64,
    /// BLAKE3 of the settings' text, hex.
    pub settings_hash: String,
}
