//! The store, read once: rows become events of end faces, rows of matings and tickets, codes become
//! small numbers.

pub mod columns;
pub mod cover;
pub mod key;
pub mod looks;
pub mod matings;
pub mod names;
pub mod read_once;
pub mod record_columns;
pub mod records;
pub mod shared;
pub mod site_facts;
pub mod spread;
pub mod tickets;
