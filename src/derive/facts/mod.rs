//! What the passes hand to the count: small fixed-size rows, in the bucket of their site. A site that is too
//! large for one bucket is cut by time. Each bucket is counted by itself, so that the cells it needs are few.

pub mod look;
pub mod mating;
pub mod place;
pub mod spills;
pub mod touch;
