//! Bytes of files of every kind as rows of text cells, and what is found out about them.

mod damaged;
mod dates;
mod detecting;
mod detecting_demo;
mod encodings;
mod given;
mod guarded;
mod json_arrays;
mod json_lines;
mod literature;
pub mod other_kinds;
mod packed;
pub mod parquet_inputs;
mod polluted;
mod polluted_files;
mod polluted_rows;
mod polluted_score;
mod polluted_source;
mod profiling;
mod profiling_times;
mod reading;
mod reading_mended;
pub mod workbook_files;
mod workbooks;
mod workbooks_broken;
mod workbooks_ods;
mod workbooks_web;
