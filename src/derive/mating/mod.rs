//! One mating at a time: its two halves joined, its faults attached, how long it is followed.

pub mod at_risk;
pub mod describe;
pub mod exposure;
pub mod fault;
pub mod follow_up;
pub mod handed;
pub mod judged;
pub mod late;
pub mod lists;
pub mod named;
pub mod pair;
pub mod price;
pub mod prompting;
pub mod risk_times;
pub mod ticket;
pub mod unseen;
pub mod variant;
pub mod window;
