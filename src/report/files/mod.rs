//! The files of a report: tables, workbook, findings, what the run was made of, the folder.

pub(in crate::report) mod charts;
pub(in crate::report) mod csv;
pub(in crate::report) mod dictionary;
pub(in crate::report) mod digits;
pub(in crate::report) mod findings;
pub(in crate::report) mod in_currency;
pub(in crate::report) mod parquet_table;
pub(in crate::report) mod place;
pub(in crate::report) mod run;
pub(in crate::report) mod schema;
pub(in crate::report) mod tables;
pub(in crate::report) mod workbook;
