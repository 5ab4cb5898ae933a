//! A mark with its interval for each of a few periods, side by side, on one y axis.

use crate::charts::shell::{
    Anchor, Axis, EndLabel, Frame, INK, MARGIN, Mark, RULE, Reference, SMALL, SOFT, STRONG, Scale,
    Sheet, WIDTH, Way, count, end_room, fit, left_axis, wrap, write_ends,
};

/// One period.
#[derive(Clone, Debug, PartialEq)]
pub struct Period {
    /// Name of the period, written under its mark.
    pub label: String,
    /// Its estimate, in the numbers of the y axis.
    pub mark: Mark,
    /// A second line under it, e.g. n.
    pub text: String,
}

/// A trend over periods.
#[derive(Clone, Debug, PartialEq)]
pub struct Trend {
    /// The words around it.
    pub frame: Frame,
    /// The y axis.
    pub axis: Axis,
    /// What the y axis shows.
    pub axis_label: String,
    /// A level line.
    pub reference: Option<Reference>,
    /// What the texts under the periods are, e.g. "n".
    pub text_label: String,
    /// In order of time; the last 16 are drawn.
    pub periods: Vec<Period>,
}

const HIGH: f64 = 220.0;
const MOST_PERIODS: usize = 16;

/// Draws a trend over periods. An SVG, 800 px wide.
pub fn trend(chart: &Trend) -> String {
    let periods = &chart.periods[chart.periods.len().saturating_sub(MOST_PERIODS)..];
    if periods.is_empty() {
        return Sheet::empty(&chart.frame, "No periods to draw.");
    }
    let mut sheet = Sheet::open(&chart.frame);
    let (mut values, mut bounds) = (Vec::new(), Vec::new());
    periods.iter().for_each(|p| p.mark.add_to(&mut values, &mut bounds));
    values.extend(chart.reference.as_ref().map(|r| r.value));
    let (top, bottom) = (sheet.y + 30.0, sheet.y + 30.0 + HIGH);
    let y = Scale::new(&chart.axis, &values, &bounds, (bottom, top));
    let room = chart
        .reference
        .as_ref()
        .map_or(0.0, |r| 24.0 + end_room([r.label.as_str()].into_iter(), 150.0));
    let (left, right) = (MARGIN + 62.0, WIDTH - MARGIN - room);
    left_axis(&mut sheet.canvas, &y, (left, right), &chart.axis_label, 16.0);
    level(&mut sheet, chart, &y, (left, right));
    let wide = ((right - left) / periods.len() as f64).min(120.0);
    let mut used: f64 = 0.0;
    for (i, period) in periods.iter().enumerate() {
        let x = left + wide * (i as f64 + 0.5);
        period.mark.draw(&mut sheet.canvas, Way::Up, &y, x, STRONG);
        let mut at = bottom + 14.0;
        for line in wrap(&period.label, SMALL, false, wide - 6.0, 3) {
            sheet.canvas.text((x, at), &line, SMALL, Anchor::Middle, INK);
            at += 15.0;
        }
        used = used.max(at - bottom);
    }
    under(&mut sheet, chart, periods, (left, wide), bottom + used + 2.0);
    if chart.periods.len() > periods.len() {
        sheet.say(&format!(
            "The last {} of {} periods.",
            periods.len(),
            count(chart.periods.len() as u64)
        ));
    }
    sheet.close(&chart.frame, periods.iter().map(|p| p.mark.look))
}

/// The second line of texts, with its name at the left.
fn under(sheet: &mut Sheet, chart: &Trend, periods: &[Period], (left, wide): (f64, f64), y: f64) {
    sheet.y = y;
    if periods.iter().all(|p| p.text.is_empty()) {
        return;
    }
    let name = fit(&chart.text_label, SMALL, false, left - MARGIN);
    sheet.canvas.text((MARGIN, y), &name, SMALL, Anchor::Start, SOFT);
    for (i, period) in periods.iter().enumerate() {
        let text = fit(&period.text, SMALL, false, wide - 6.0);
        sheet.canvas.text((left + wide * (i as f64 + 0.5), y), &text, SMALL, Anchor::Middle, SOFT);
    }
    sheet.y += 14.0;
}

fn level(sheet: &mut Sheet, chart: &Trend, y: &Scale, (left, right): (f64, f64)) {
    let Some(reference) = chart.reference.as_ref().filter(|r| r.value.is_finite()) else {
        return;
    };
    if y.is_below(reference.value) || y.is_above(reference.value) {
        return;
    }
    let at = y.at(reference.value);
    sheet.canvas.line((left, at), (right, at), RULE, 1.4);
    let label =
        EndLabel { text: reference.label.clone(), end: (right, at), paint: RULE, dashed: false };
    write_ends(&mut sheet.canvas, vec![label], right, (y.ends().1, y.ends().0));
}
