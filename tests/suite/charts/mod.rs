//! Every kind of chart passes the same checks on its sample, empty, with one row, with flagged rows, with hostile
//! texts, with many rows. All data are invented.

mod every_kind;
mod measured_texts;
mod numbers;
mod sample;
mod sample_lines;
mod sample_purchases;
mod shown;
mod spoilt;
