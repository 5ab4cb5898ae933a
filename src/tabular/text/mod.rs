//! Separated text: decoded, cut into rows and cells, mended where the strict cut refuses a row.

pub mod cut;
pub mod cut_any;
pub mod encoding;
pub mod line_ends;
pub mod marks;
pub mod mend;
pub mod reader;
pub mod take;
