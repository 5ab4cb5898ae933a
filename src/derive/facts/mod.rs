//! What the passes hand to the count: small fixed-size rows, in the bucket of their site. A site that is too
//! large for one bucket is cut by time. Each bucket is counted by itself, so that the cells it needs are few.

pub mod fault;
pub mod look;
pub mod mating;
pub mod place;
pub mod spills;
pub mod touch;

/// The bits of the flags that are set.
fn bits<const N: usize>(flags: [(bool, u8); N]) -> u8 {
    flags.iter().filter(|(set, _)| *set).fold(0, |bits, (_, flag)| bits | flag)
}
