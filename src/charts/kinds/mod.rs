//! One file a kind of chart: numbers and labels in, the picture out.

pub(super) mod account_bars;
pub(super) mod cash_fan;
pub(super) mod dot_pairs;
pub(super) mod grid;
pub(super) mod interval_rows;
pub(super) mod ladder;
pub(super) mod points_over_time;
pub(super) mod ranked_saving;
pub(super) mod scatter_funnel;
pub(super) mod stacked_bars;
pub(super) mod stations;
pub(super) mod steps;
pub(super) mod time_line;
pub(super) mod tornado;
pub(super) mod trend;
