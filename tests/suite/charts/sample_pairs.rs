//! Invented pairs of dots.

use motetrail::charts::*;

use super::sample::{Words, frame, label, look, part};

fn row(i: usize, is_rate: bool, words: Words) -> PairRow {
    let (before, by) = (part(i), part(i + 50) - 0.5);
    let (before, now, change) = if is_rate {
        let ratio = (2.0 * by).exp();
        let mark = [ratio, ratio * 0.6, ratio * 1.8];
        (10.0 * before + 1.0, (10.0 * before + 1.0) * ratio, mark)
    } else {
        let now = (before + 0.3 * by).clamp(0.0, 1.0);
        let points = 100.0 * (now - before);
        (before, now, [points, points - 6.0, points + 8.0])
    };
    let gone = |place: usize, value: f64| if i % 9 == place { None } else { Some(value) };
    PairRow {
        label: label(i, words),
        before: gone(7, before),
        now: gone(8, now),
        change: Mark {
            value: gone(7, change[0]),
            low: Some(change[1]),
            high: Some(change[2]),
            look: look(i),
        },
        texts: vec![format!("{} to {} points", i, i + 7), "0.012".to_owned()],
    }
}

fn panel(title: &str, rows: std::ops::Range<usize>, is_rate: bool, words: Words) -> PairPanel {
    let above = rows.len() / 4;
    let cut = rows.start + above;
    let (axis, change_axis) = if is_rate {
        (Axis::Ratio, Axis::Ratio)
    } else {
        (Axis::Share { from: 0.0, to: 1.0 }, Axis::Amount { unit: "points".to_owned() })
    };
    PairPanel {
        title: title.to_owned(),
        axis,
        axis_label: "share or rate".to_owned(),
        change_axis,
        change_label: "change".to_owned(),
        no_change: if is_rate { 1.0 } else { 0.0 },
        above: (rows.start..cut).map(|i| row(i, is_rate, words)).collect(),
        below: (cut..rows.end).map(|i| row(i, is_rate, words)).collect(),
        most_below: 30,
        rest: "together 4 120 of 31 000".to_owned(),
    }
}

/// Half of the rows shares and half rates, a quarter of each above the rule.
pub fn pairs(rows: usize, words: Words) -> DotPairs {
    let half = rows / 2;
    DotPairs {
        frame: frame(words),
        times: ["2026-Q1", "2026-Q2"].map(str::to_owned),
        above: "Changed by more than chance".to_owned(),
        below: "No more than chance can do".to_owned(),
        columns: vec!["interval of the change".to_owned(), "q".to_owned()],
        panels: if rows > 8 {
            vec![panel("Shares", 0..half, false, words), panel("Rates", half..rows, true, words)]
        } else {
            vec![panel("Shares", 0..rows, false, words)]
        },
    }
}
