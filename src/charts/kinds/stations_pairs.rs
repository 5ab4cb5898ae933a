//! Under a path of stations: the estimate of each band and ring for two parts, side by side on one scale.

use super::stations::{Laid, Stations, Stretch};
use crate::charts::shell::canvas::Anchor;
use crate::charts::shell::frame::{MARGIN, SMALL, Sheet};
use crate::charts::shell::mark::{Mark, RADIUS, Way};
use crate::charts::shell::measure::{fit, width};
use crate::charts::shell::paint::{FAINT, Paint, SECOND, SOFT, STRONG};
use crate::charts::shell::ruler::left_axis;
use crate::charts::shell::scale::Scale;

/// Height of the pairs, px.
const HIGH: f64 = 100.0;
/// Px from the middle of a pair to either mark.
const APART: f64 = 9.0;
/// Hues of the two parts; the first stands left.
const HUES: [Paint; 2] = [STRONG, SECOND];

/// Which hue and which side is which part.
pub(super) fn legend(sheet: &mut Sheet, parts: &[String; 2]) {
    let mut x = MARGIN;
    for (part, (hue, side)) in parts.iter().zip(HUES.into_iter().zip(["left", "right"])) {
        let part = fit(part, SMALL, false, 190.0);
        let words = format!("{part} ({side} of each pair below)");
        sheet.canvas.disc((x + RADIUS, sheet.y + 6.0), RADIUS, hue);
        let at = x + 2.0 * RADIUS + 6.0;
        sheet.canvas.text((at, sheet.y + 6.0), &words, SMALL, Anchor::Start, SOFT);
        x = at + width(&words, SMALL, false) + 20.0;
    }
    sheet.y += 26.0;
}

/// The pairs of one line of the path: under each band, and under each station that has a ring.
pub(super) fn pairs(sheet: &mut Sheet, chart: &Stations, laid: &Laid) {
    let last = laid.stations.len() - usize::from(laid.goes_on);
    let mut placed: Vec<(f64, &Stretch)> = Vec::new();
    for (at, station) in laid.stations.iter().enumerate() {
        placed.extend(station.again.iter().filter(|_| at < last).map(|own| (laid.at(at), own)));
        let between = laid.at(at) + laid.pitch / 2.0;
        let onward = station.onward.iter().filter(|_| at + 1 < laid.stations.len());
        placed.extend(onward.map(|own| (between, own)));
    }
    let marks = |own: &Stretch| -> Vec<Mark> { own.pair.iter().flatten().copied().collect() };
    let all = chart.stations.iter().flat_map(|s| s.again.iter().chain(&s.onward)).flat_map(marks);
    let (mut values, mut bounds) = (Vec::new(), Vec::new());
    all.for_each(|mark| mark.add_to(&mut values, &mut bounds));
    let (top, bottom) = (sheet.y + 26.0, sheet.y + 26.0 + HIGH);
    let scale = Scale::new(&chart.axis, &values, &bounds, (bottom, top));
    let left = MARGIN + 54.0;
    let right = laid.at(laid.stations.len() - 1) + laid.pitch / 2.0;
    left_axis(&mut sheet.canvas, &scale, (left, right), &chart.axis_label, 18.0);
    for (centre, stretch) in placed {
        if stretch.pair.iter().any(Option::is_some) {
            sheet.canvas.line((centre, top), (centre, bottom), FAINT, 1.0);
        }
        for ((mark, hue), shift) in stretch.pair.iter().zip(HUES).zip([-APART, APART]) {
            if let Some(mark) = mark {
                mark.draw(&mut sheet.canvas, Way::Up, &scale, centre + shift, hue);
            }
        }
    }
    sheet.y = bottom + 26.0;
}
