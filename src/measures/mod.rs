//! One file a question of the readers: count tables in, findings out. Never touches a file.

mod coverage;
mod cycles;
mod evidence;
mod fault_rates;
mod first_pass;
mod first_pass_weeks;
mod flag;
mod intake;
mod look_price;
mod review;
mod since_mating;
mod skipped_cost;
mod skipped_ratio;
mod strata;
mod table;
mod trust;

pub use evidence::Evidence;
pub use flag::Flag;
pub use review::{Review, review};
pub use table::{GROUPS, Group, Row, Table, Unit, Value};
