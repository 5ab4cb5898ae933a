//! One file a question of the readers: count tables in, findings out. Never touches a file.

mod control;
mod coverage;
mod cycle_design;
mod cycle_fits;
mod cycle_labour;
mod cycle_odds;
mod cycle_trials;
mod cycles;
mod evidence;
mod fault_rates;
mod first_pass;
mod first_pass_weeks;
mod flag;
mod intake;
mod look_price;
mod opinions;
pub mod payback;
mod review;
mod saving_draws;
mod saving_rank;
mod sensitivity;
mod since_mating;
mod site_ranking;
mod site_weeks;
mod skipped_cost;
mod skipped_money;
mod skipped_ratio;
mod strata;
mod table;
mod trust;

pub use evidence::Evidence;
pub use flag::Flag;
pub use review::{Review, review};
pub use table::{GROUPS, Group, Row, Table, Unit, Value};
