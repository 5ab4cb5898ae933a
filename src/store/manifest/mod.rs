//! The manifest: its form, how it is written and sealed, and the names of all files.

pub mod account;
pub mod digest;
pub mod expired;
pub mod form;
pub mod layout;
pub mod load;
pub mod origin;
pub mod row_account;
pub mod sealed;
pub mod written;
