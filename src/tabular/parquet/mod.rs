//! Parquet files as rows of cells, weighed page by page before they are unpacked.

pub mod page_header;
pub mod page_sizes;
pub mod rows;
pub mod text;
