//! The table of numbers at risk under step curves.

use super::steps::Steps;
use crate::charts::shell::canvas::Anchor;
use crate::charts::shell::frame::{MARGIN, SMALL, Sheet};
use crate::charts::shell::measure::{fit, width};
use crate::charts::shell::number::count;
use crate::charts::shell::paint::{INK, SOFT};
use crate::charts::shell::scale::Scale;

/// The table of numbers under the axis, at the x the caller gives; where they would touch, some are left out.
pub(super) fn at_risk(sheet: &mut Sheet, chart: &Steps, x: &Scale) {
    if chart.at_risk.is_empty() {
        return;
    }
    sheet.y += 8.0;
    let mut places: Vec<f64> = chart
        .at_risk
        .iter()
        .flat_map(|r| r.counts.iter().map(|(at, _)| *at))
        .filter(|at| at.is_finite())
        .collect();
    places.retain(|at| !x.is_below(*at) && !x.is_above(*at));
    places.sort_by(f64::total_cmp);
    places.dedup();
    let widest = chart
        .at_risk
        .iter()
        .flat_map(|r| &r.counts)
        .map(|(_, n)| width(&count(*n), SMALL, false))
        .fold(0.0, f64::max);
    let mut free = f64::NEG_INFINITY;
    places.retain(|at| {
        let fits = x.at(*at) - widest / 2.0 >= free;
        if fits {
            free = x.at(*at) + widest / 2.0 + 8.0;
        }
        fits
    });
    let room = x.ends().0 - MARGIN - widest / 2.0 - 4.0;
    sheet.canvas.text(
        (MARGIN, sheet.y + 8.0),
        &fit(&chart.at_risk_label, SMALL, false, 300.0),
        SMALL,
        Anchor::Start,
        SOFT,
    );
    sheet.y += 18.0;
    for row in &chart.at_risk {
        let label = fit(&row.label, SMALL, false, room.max(40.0));
        sheet.canvas.text((MARGIN, sheet.y + 8.0), &label, SMALL, Anchor::Start, INK);
        for (at, number) in row.counts.iter().filter(|(at, _)| places.contains(at)) {
            sheet.canvas.text(
                (x.at(*at), sheet.y + 8.0),
                &count(*number),
                SMALL,
                Anchor::Middle,
                INK,
            );
        }
        sheet.y += 17.0;
    }
}
