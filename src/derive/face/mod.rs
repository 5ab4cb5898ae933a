//! One end face at a time: the order of its events, its visits, what was known of it at each
//! mating.

pub mod agreement;
pub mod apart;
pub mod end_face;
pub mod end_state;
pub mod event;
pub mod left_failing;
pub mod order;
pub mod surroundings;
pub mod visit;
pub mod visits;
