//! A staircase: hours of looking in a month, those that save most first, with the hours that there are.

use crate::charts::{Axis, Frame, Shade, StepPoint, StepSeries, Steps, steps};
use crate::measures::Review;
use crate::measures::looks_plan::Row;
use crate::report::page::picture::Picture;
use crate::report::words::number::{level, major, whole};

/// Minutes of an hour.
const HOUR: f64 = 60.0;

/// The staircase of the firm cells; none with fewer than two.
pub(super) fn staircase(review: &Review) -> Option<Picture> {
    let table = &review.looks_plan;
    let mut rows: Vec<&Row> = table.cells().filter(|row| row.own.rank.is_some()).collect();
    rows.sort_by_key(|row| row.own.rank);
    if rows.len() < 2 {
        return None;
    }
    let scale = |row: &Row, value: Option<f64>| {
        let minutes = row.own.minutes.filter(|minutes| *minutes > 0.0)?;
        Some(major(value?) / minutes * HOUR)
    };
    let (mut points, mut at, mut now) = (Vec::new(), 0.0, 0.0);
    for row in &rows {
        let minutes = row.own.minutes.unwrap_or(0.0);
        let value = scale(row, row.estimate)?;
        points.push(StepPoint {
            x: at,
            value,
            low: scale(row, row.low),
            high: scale(row, row.high),
        });
        at += row.own.ends.unwrap_or(0.0) * minutes / HOUR;
        now += row.own.looks_now.unwrap_or(0.0) * minutes / HOUR;
    }
    let last = *points.last()?;
    points.push(StepPoint { x: at, ..last });
    let title = format!(
        "Looking at every end of {} cells would take {} hours a month; they have {}",
        rows.len(),
        whole(Some(at)),
        whole(Some(now))
    );
    let subtitle = format!(
        "What an hour of looking saves, {}, cells side by side, the largest saving first; a step is as wide as the hours that all ends of its cell take",
        review.currency
    );
    let chart = Steps {
        frame: Frame {
            description: format!("{title}. {subtitle}."),
            title,
            subtitle,
            caption: format!(
                "The shaded hours are those spent now; were they spent from the left, they would save most. Bands: {} of the draws, \
                 cell by cell. The operator's own rules come first.",
                level(review.level)
            ),
        },
        x_label: "hours of looking a month".to_owned(),
        whole_x: false,
        axis: Axis::Amount { unit: review.currency.clone() },
        axis_label: "saved an hour".to_owned(),
        series: vec![StepSeries { label: "saving".to_owned(), dashed: false, points }],
        shade: Some(Shade { from: 0.0, to: now, label: "hours spent now".to_owned() }),
        at_risk_label: String::new(),
        at_risk: Vec::new(),
        lower: None,
    };
    Some(Picture { name: "looks-staircase", svg: steps(&chart) })
}
