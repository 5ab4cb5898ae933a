//! What every kind of chart is drawn with: canvas, frame, scales, marks, texts measured and written. Knows no kind.

pub(super) mod canvas;
pub(super) mod clip;
pub(super) mod fill;
pub(super) mod font;
pub(super) mod frame;
pub(super) mod labels;
pub(super) mod mark;
pub(super) mod measure;
pub mod number;
pub(super) mod paint;
pub(super) mod png;
pub(super) mod row_chart;
pub(super) mod ruler;
pub(super) mod scale;
pub(super) mod table;
pub(super) mod ticks;
