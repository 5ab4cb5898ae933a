//! Charts: `kinds` holds one file a kind, `shell` what all of them are drawn with. In go finished numbers and labels, out
//! comes an SVG: 800 px wide, as high as its rows need, real text, the page's own colour for text and neutral lines, a
//! transparent background, no script. `png` makes the same picture at twice the size, on white.
//!
//! Promises: same input, same bytes; every number and text is harmless here (what is not finite is missing, what is too
//! long is wrapped and then shortened, what is markup is escaped); no chart is without title and description. Where it
//! stops: no statistic is computed, nothing is ranked or dropped, except that at most 30 rows of a list are drawn and
//! the rest counted in words, and that more than 2,000 points are drawn as bins.

mod kinds;
mod shell;

pub use kinds::account_bars::{AccountBars, AccountRow, account_bars};
pub use kinds::cash_fan::{CashFan, CashPanel, CashPoint, cash_fan};
pub use kinds::dot_pairs::{DotPairs, PairPanel, PairRow, dot_pairs};
pub use kinds::grid::{Cell, Grid, GridRow, grid};
pub use kinds::interval_rows::{IntervalRow, IntervalRows, Panel, interval_rows};
pub use kinds::ladder::{Ladder, LadderStep, ladder};
pub use kinds::points_over_time::{PointsOverTime, TimePoint, points_over_time};
pub use kinds::ranked_saving::{RankedSaving, SavingRow, ranked_saving};
pub use kinds::scatter_funnel::{Curve, FunnelPoint, ScatterFunnel, scatter_funnel};
pub use kinds::stacked_bars::{StackedBars, StackedRow, stacked_bars};
pub use kinds::stations::{Station, Stations, Stretch, stations};
pub use kinds::steps::{Lower, LowerSeries, RiskRow, Shade, StepPoint, StepSeries, Steps, steps};
pub use kinds::time_line::{Lane, Moment, Stamp, TimeLine, time_line};
pub use kinds::tornado::{Tornado, TornadoBar, TornadoPanel, tornado};
pub use kinds::trend::{Period, Trend, trend};
pub use shell::{
    Axis, Class, Fill, Frame, Look, Mark, Parted, PngError, Reference, number, parted, png,
};
