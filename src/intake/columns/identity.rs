//! The fingerprints that a record carries.

/// Fingerprints of one record.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Identity {
    /// Of table and record id; of table and content where there is no id. XXH3, 128 bits.
    pub identity: [u8; 16],
    /// Of the end face, or both, with side and fibre. XXH3, 64 bits.
    pub member: u64,
    /// Of all that was typed. XXH3, 64 bits.
    pub content: u64,
}
