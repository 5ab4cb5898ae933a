//! What a question answers with, declared once: its table, its groupings, its quantities, its own columns.
//!
//! From a declaration follow the structs of rows, the columns of CSV, Parquet and workbook with their types, the
//! dictionary, and what the page and other measures may ask for; a word that does not exist does not compile. The columns
//! that every table begins with are declared in `leading`, units and kinds in `unit`, flags in `measures::flag`.
//!
//! # Declaring a question's results
//!
//! 1. At the top of `measures/<question>.rs`, or in `declared.rs` of its room with `pub use declared::*` in `mod.rs`, stands
//!    `results! { table "..."; pub enum By {..} pub enum Quantity {..} pub struct Own {..} }`; `measures::coverage` is the
//!    model, and `measures::first_pass` of a room. Every table, quantity and column has one sentence that ends in a point: the dictionary prints it.
//! 2. A quantity names its unit in brackets, so a row has none: `row.unit()`. One word has one unit within a table.
//! 3. A column is plain Rust: `f64`, `i64`, `u64`, `u32` with its unit in brackets (`hazard: Option<f64> [Share]`),
//!    `Money`, `String`, `bool` (yes or no), or a closed list of words declared with `words!`. What only some rows say is an
//!    `Option`.
//! 4. It defines `NAME`, `By`, `Quantity`, `Own`, `Row`, `Table` in that module: `pub mod <question>;` in `measures/mod.rs`,
//!    `pub <question>: <question>::Table` in `Review`.
//! 5. Rows are made by `Row::of(by, group, quantity, &estimate, own)`, `Row::figure(..)` and `Row::count(..)`, with
//!    `Own { deff: Some(deff), ..Own::default() }`; where some columns are no `Option`, `..Own::with(those)`. What is
//!    known only after the row was made is set by name: `row.own.rank = Some(at)`.
//! 6. Another measure takes the table (`coverage: &coverage::Table`) or a plain struct, and reads fields: never words.
//! 7. The page asks `table.rows_of(By::Stage, Quantity::Skipped)` or `table.quantity(..)`, filters by
//!    `row.own.base == Some(Base::Known)`, orders with `in_order`, and lays its tables with `PageTable::over(&rows)`,
//!    column after column. `label(row)`, `mark(row)`, `Amount::of(row)` take rows of any table; an own value with an
//!    interval is `Amount { value: row.own.ratio, low: row.own.ratio_low, high: row.own.ratio_high, unit }`.
//! 8. Tests build rows with the same structs; laws over all tables go through `Review::tables` and `AnyRow::leading`.
//! 9. The columns stand in the order of the declaration: the demo's tables before and after are equal cell by cell.

mod column;
mod columns;
mod declare;
mod leading;
mod table;
mod unit;
mod words;

pub use column::{Cell, Cells, Column, ColumnSpec, Columns, Held, Kept, Money, cells, column};
pub use leading::{AnyRow, Estimate, Group, Leading, Place, leading_columns};
pub use table::{AnyTable, Estimated, Grouping, Measure, QuantitySpec, Row, Table};
pub use unit::{Kind, Unit};
pub use words::{Described, Word};

pub(crate) use columns::columns;
pub(crate) use declare::results;
pub(crate) use words::words;
