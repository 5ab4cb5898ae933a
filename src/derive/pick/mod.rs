//! What somebody should look at first: bounded lists of candidates, and the names behind their
//! keys.

pub mod face_names;
pub mod services;
pub mod shortlist;
pub mod worklist;
