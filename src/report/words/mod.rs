//! Words and numbers as people read them.

pub(in crate::report) mod action;
pub(in crate::report) mod caution;
pub(in crate::report) mod changed;
pub(in crate::report) mod do_first;
pub(in crate::report) mod flags;
pub(in crate::report) mod glossary;
pub(in crate::report) mod headline;
pub(in crate::report) mod in_short;
pub(in crate::report) mod label;
pub(in crate::report) mod months;
pub(in crate::report) mod number;
pub(in crate::report) mod open;
pub(in crate::report) mod purchase;
pub(in crate::report) mod ranked;
pub(in crate::report) mod unanswered;
