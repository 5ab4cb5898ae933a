//! JSON objects, one a line or in one array, as rows of cells.

pub mod lines;
pub mod object;
pub mod rows;
