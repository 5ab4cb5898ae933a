//! Charts, one file a kind. In go finished numbers and labels, out comes an SVG: 800 px wide, as high as its rows need,
//! real text, the page's own colour for text and neutral lines, a transparent background, no script. `png` makes the
//! same picture at twice the size, on white.
//!
//! Promises: same input, same bytes; every number and text is harmless here (what is not finite is missing, what is too
//! long is wrapped and then shortened, what is markup is escaped); no chart is without title and description. Where it
//! stops: no statistic is computed, nothing is ranked or dropped, except that at most 30 rows of a list are drawn and
//! the rest counted in words, and that more than 2,000 points are drawn as bins.

mod account_bars;
mod canvas;
mod cash_fan;
mod clip;
mod dot_pairs;
mod fill;
mod font;
mod frame;
mod grid;
mod interval_rows;
mod labels;
mod ladder;
mod mark;
mod measure;
pub mod number;
mod paint;
mod png;
mod points_over_time;
mod ranked_saving;
mod ruler;
mod scale;
mod scatter_funnel;
mod stacked_bars;
mod stations;
mod stations_pairs;
mod steps;
mod steps_lower;
mod steps_risk;

mod table;
mod ticks;
mod time_line;
mod tornado;
mod trend;

pub use account_bars::{AccountBars, AccountRow, account_bars};
pub use cash_fan::{CashFan, CashPanel, CashPoint, cash_fan};
pub use dot_pairs::{DotPairs, PairPanel, PairRow, dot_pairs};
pub use fill::{Class, Fill};
pub use frame::Frame;
pub use grid::{Cell, Grid, GridRow, grid};
pub use interval_rows::{IntervalRow, IntervalRows, Panel, interval_rows};
pub use ladder::{Ladder, LadderStep, ladder};
pub use mark::{Look, Mark};
pub use png::{PngError, png};
pub use points_over_time::{PointsOverTime, TimePoint, points_over_time};
pub use ranked_saving::{RankedSaving, SavingRow, ranked_saving};
pub use scale::{Axis, Reference};
pub use scatter_funnel::{Curve, FunnelPoint, ScatterFunnel, scatter_funnel};
pub use stacked_bars::{StackedBars, StackedRow, stacked_bars};
pub use stations::{Station, Stations, Stretch, stations};
pub use steps::{Lower, LowerSeries, RiskRow, Shade, StepPoint, StepSeries, Steps, steps};
pub use time_line::{Lane, Moment, Stamp, TimeLine, time_line};
pub use tornado::{Tornado, TornadoBar, TornadoPanel, tornado};
pub use trend::{Period, Trend, trend};
