//! The manifest: its form, how it is written and sealed, and the names of all files.

pub mod account;
pub mod digest;
pub mod form;
pub mod layout;
pub mod origin;
pub mod sealed;
pub mod written;
