//! The report's pictures: rows of the review in, one chart each out. Picks, orders and words; computes nothing. A
//! measure without rows has no picture.

mod carriers;
mod changes;
mod coverage;
mod cycles;
mod cycles_adjusted;
mod entry;
mod fault_rates;
mod fault_sites;
mod first_pass;
mod first_pass_funnel;
mod first_pass_weeks;
mod over_time;
mod payback;
mod recurring_faults;
mod saving_grid;
mod sensitivity;
mod since_mating;
mod skipped_cost;
mod stopping;
mod trust;

use crate::charts::{Axis, Frame, Mark};
use crate::measures::{Review, Row};

use super::escape::html;
use super::flags::look;
use super::number::level;

pub(super) use carriers::{observed as carriers_observed, worst as worst_carrier};
pub(super) use changes::changes;
pub(super) use coverage::{CLASSES, by_stage as coverage_by_stage};
pub(super) use cycles::passed as passed_by_cycle;
pub(super) use cycles_adjusted::adjusted as adjusted_by_method;
pub(super) use entry::{first_in, lifecycle};
pub(super) use fault_rates::by_stage_and_family as fault_rates;
pub(super) use fault_sites::fault_sites;
pub(super) use first_pass::{by_site as first_pass_by_site, by_stage as first_pass_by_stage};
pub(super) use first_pass_funnel::funnel as first_pass_funnel;
pub(super) use first_pass_weeks::by_week as first_pass_by_week;
pub(super) use over_time::{OverTime, over_time};
pub(super) use payback::{cash_fans, purchase_ladder, purchase_tornado};
pub(super) use recurring_faults::recurring_faults;
pub(super) use saving_grid::saving_grid;
pub(super) use sensitivity::sensitivity;
pub(super) use since_mating::since_mating;
pub(super) use skipped_cost::{Places, ranked};
pub(super) use stopping::cost_by_limit;
pub(super) use trust::accounts;

/// One picture.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Picture {
    /// Name of its files.
    pub name: &'static str,
    pub svg: String,
}

impl Picture {
    /// The picture inside the page.
    pub(super) fn html(&self) -> String {
        // The SVG carries its own title and description; the charts escape every text in it.
        format!("<figure id=\"{}\">{}</figure>\n", html(self.name), self.svg)
    }
}

/// The words around a picture; the subtitle gets the interval level.
fn frame(review: &Review, title: String, drawn: &str, caption: &str) -> Frame {
    let subtitle = format!("{drawn}; {} intervals", level(review.level));
    let description = format!("{title}. {subtitle}.");
    Frame { title, subtitle, caption: caption.to_owned(), description }
}

/// The mark of a row.
fn mark(row: &Row) -> Mark {
    Mark { value: row.estimate, low: row.low, high: row.high, look: look(&row.flags) }
}

/// The axis of shares that their intervals need, in tenths; all of it where they spread over most of it.
fn share_axis(rows: &[&Row]) -> Axis {
    let ends = rows.iter().flat_map(|row| [row.low, row.estimate, row.high]).flatten();
    share_axis_of(&ends.collect::<Vec<f64>>())
}

/// The same for these shares.
fn share_axis_of(shares: &[f64]) -> Axis {
    let ends = || shares.iter().copied().filter(|end| end.is_finite());
    let low = ends().fold(1.0, f64::min);
    let high = ends().fold(0.0, f64::max);
    let (from, to) = ((low * 10.0 - 0.5).floor() / 10.0, (high * 10.0 + 0.5).ceil() / 10.0);
    let from = if from < 0.3 { 0.0 } else { from };
    let to = if to > 0.7 { 1.0 } else { to };
    if from < to { Axis::Share { from, to } } else { Axis::Share { from: 0.0, to: 1.0 } }
}
