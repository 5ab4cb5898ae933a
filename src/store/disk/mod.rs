//! Files that are whole or not there: written aside, checked, locked, swept.

pub mod checked;
pub mod clock;
pub mod durable;
pub mod lock;
pub mod part;
pub mod random;
pub mod spill;
pub mod sweep;
