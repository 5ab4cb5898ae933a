//! From a folder to a store, and every run that changes it.

pub mod adopt;
pub mod folder;
pub mod marker;
pub mod people_key;
pub mod rebuild;
pub mod run;
