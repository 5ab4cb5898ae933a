//! Days, weeks, months, quarters, fiscal years and zones, and how long each is.
//!
//! Instants are microseconds since 1970 in UTC. The lowest part: knows nothing of records or settings. The generator of
//! invented fleets (`synth`) does not use it, so that no mistake here can be in both.

mod civil;
mod day_start;
mod lengths;
mod local_day;
mod pieces;
mod zone;

pub use civil::{days, month_length};
pub use day_start::day_start;
pub use lengths::{
    DAY_MS, DAY_S, DAY_US, HOUR_MS, HOUR_S, HOUR_US, MONTH_HOURS, MONTH_S, SECOND_US, days_of,
};
pub use local_day::{Days, LocalDay, local_day};
pub use pieces::{Calendar, Cuts, Quarter};
pub use zone::{ClockChange, ClockFault, Zone};
