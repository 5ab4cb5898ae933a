//! Patterns of times as the maps write them: read by [`crate::tabular::date`], which stands below so
//! that profiles of columns ask the same reader.

pub use crate::tabular::date::{Misfit, Pattern, Reading};
