//! The panel under step curves: estimates at their x with intervals, and fitted lines through them.

use super::steps::{Lower, LowerSeries};
use crate::charts::shell::canvas::Point;
use crate::charts::shell::frame::Sheet;
use crate::charts::shell::labels::{EndLabel, write_ends};
use crate::charts::shell::mark::Way;
use crate::charts::shell::paint::Paint;
use crate::charts::shell::ruler::{grid_below, left_axis, numbers_below};
use crate::charts::shell::scale::Scale;

const HIGH: f64 = 150.0;
/// Px between the marks of two series at one x.
const BESIDE: f64 = 9.0;

/// Draws the panel on the x axis of the curves above.
pub(super) fn draw_lower(
    sheet: &mut Sheet,
    lower: &Lower,
    x: &Scale,
    ticks: &[(f64, String)],
    x_label: &str,
) {
    sheet.y += 44.0;
    let (top, bottom) = (sheet.y, sheet.y + HIGH);
    let (mut values, mut bounds) = (Vec::new(), Vec::new());
    for series in &lower.series {
        series.marks.iter().for_each(|(_, mark)| mark.add_to(&mut values, &mut bounds));
        values.extend(series.fitted.iter().map(|(_, y)| *y));
    }
    let y = Scale::new(&lower.axis, &values, &bounds, (bottom, top));
    left_axis(&mut sheet.canvas, &y, x.ends(), &lower.axis_label, 16.0);
    grid_below(&mut sheet.canvas, ticks, x, (top, bottom));
    let number = lower.series.len();
    let mut labels = Vec::new();
    for (i, series) in lower.series.iter().enumerate() {
        let paint = Paint::series(i);
        let beside = BESIDE * (i as f64 - (number as f64 - 1.0) / 2.0);
        for (at, mark) in series.marks.iter().filter(|(at, _)| at.is_finite()) {
            mark.draw(&mut sheet.canvas, Way::Up, &y, x.at(*at) + beside, paint);
        }
        let line = line(series, x, &y);
        sheet.canvas.path(&line, paint, 1.4);
        labels.extend(
            line.last().copied().or_else(|| last_mark(series, x, &y)).map(|end| EndLabel {
                text: series.label.clone(),
                end,
                paint,
            }),
        );
    }
    let over = write_ends(&mut sheet.canvas, labels, x.ends().1, (top, bottom));
    sheet.y = bottom + numbers_below(&mut sheet.canvas, ticks, x, bottom, Some(x_label)).max(over);
}

fn line(series: &LowerSeries, x: &Scale, y: &Scale) -> Vec<Point> {
    let known = series.fitted.iter().filter(|(a, b)| a.is_finite() && b.is_finite());
    known.map(|(a, b)| (x.at(*a), y.at(*b))).collect()
}

fn last_mark(series: &LowerSeries, x: &Scale, y: &Scale) -> Option<Point> {
    series.marks.iter().rev().find_map(|(at, mark)| Some((x.at(*at), y.at(mark.number()?))))
}
