//! Every kind of chart passes the same checks on its sample, empty, with one row, with flagged rows, with hostile
//! texts, with many rows. All data are invented.

mod every_kind;
mod measured_texts;
mod numbers;
mod sample;
mod sample_lines;
mod sample_pairs;
mod sample_path;
mod sample_purchases;
mod sample_time;
mod shown;
mod spoilt;
mod words_apart;
