//! What every kind of chart is drawn with: canvas, frame, scales, marks, texts measured and written. Knows no kind.

mod canvas;
mod clip;
mod fill;
mod font;
mod frame;
mod head;
mod labels;
mod mark;
mod measure;
pub mod number;
mod paint;
mod png;
mod row_chart;
mod ruler;
mod scale;
mod table;
mod ticks;

pub use canvas::{Anchor, Canvas, Point, WIDTH};
pub use clip::inside;
pub use fill::{Class, Fill, hatch, legend};
pub use frame::{Frame, MARGIN, SMALL, Sheet, TEXT};
pub use head::{Parted, parted};
pub use labels::{EndLabel, Places, end_room, listed, write_ends};
pub use mark::{Look, Mark, RADIUS, Way, finite, symbol};
pub use measure::{clean, fit, width, wrap};
pub use number::{count, fixed, supported};
pub use paint::{FAINT, GREY, INK, Paint, RULE, SECOND, SOFT, STRONG};
pub use png::{PngError, png};
pub use row_chart::RowChart;
pub use ruler::{grid_below, left_axis, name_above, numbers_below, reference_across, ticks_across};
pub use scale::{Axis, Reference, Scale};
pub use table::MOST_ROWS;
