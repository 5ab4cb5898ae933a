//! One file a question of the readers: count tables in, findings out. Never touches a file.

pub mod actions;
pub mod carriers;
pub mod changes;
pub mod coverage;
pub mod cycles;
mod draw_name;
pub mod entry;
mod evidence;
pub mod fault_rates;
pub mod first_pass;
mod flag;
pub mod intake;
pub mod looks_plan;
pub mod months;
pub mod payback;
mod prices;
pub mod results;
mod review;
mod shared_luck;
pub mod skipped_cost;
pub mod trust;
mod unread;
pub mod worklist;

pub use evidence::Evidence;
pub use flag::Flag;
pub use results::{AnyRow, AnyTable, Group, Leading, Unit};
pub use review::{Review, review};
pub use unread::add_unread;
