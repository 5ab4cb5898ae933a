//! Shares clean at the first look week by week, with the limits that they keep within where nothing changes.

use chrono::{Datelike, NaiveDate};

use crate::charts::{Frame, Look, Mark, PointsOverTime, TimePoint, points_over_time};
use crate::measures::Review;
use crate::measures::first_pass::{By, Quantity, Row};
use crate::report::page::picture::{Picture, share_axis};
use crate::report::words::label::oldest_first;

/// The weekly chart; none with fewer than two weeks.
pub(in crate::report) fn by_week(review: &Review) -> Option<Picture> {
    let rows = oldest_first(review.first_pass.rows_of(By::Week, Quantity::Week));
    if rows.len() < 2 {
        return None;
    }
    let subtitle = "Share of end faces clean at the first look, routine visits, a point a week; limits of the p-prime \
                    chart, signals of the run rules ringed"
        .to_owned();
    let title = title(&rows);
    let chart = PointsOverTime {
        frame: Frame {
            description: format!("{title}. {subtitle}."),
            title,
            subtitle,
            caption: "Limits widen where weeks vary by more than chance. A rule signals on steady weeks too, now and \
                      then; a signal asks for a look at what happened, and proves nothing."
                .to_owned(),
        },
        axis: share_axis(&rows),
        axis_label: "share".to_owned(),
        centre_label: "mean".to_owned(),
        limits_label: "limits".to_owned(),
        points: rows.iter().filter_map(|row| point(row)).collect(),
    };
    Some(Picture { name: "first-pass-by-week", svg: points_over_time(&chart) })
}

/// How many weeks signal, and which was the last.
fn title(rows: &[&Row]) -> String {
    let signals: Vec<&&Row> = rows.iter().filter(|row| row.own.signal.is_some()).collect();
    let day = |row: &Row| row.group.time.clone().unwrap_or_default();
    match signals.as_slice() {
        [] => format!("No week of {} stands out from the run of weeks", rows.len()),
        [only] => format!("One week of {} stands out, that of {}", rows.len(), day(only)),
        [.., last] => {
            format!(
                "{} weeks of {} stand out, the last that of {}",
                signals.len(),
                rows.len(),
                day(last)
            )
        }
    }
}

fn point(row: &Row) -> Option<TimePoint> {
    let label = row.group.time.clone()?;
    let monday = NaiveDate::parse_from_str(&label, "%Y-%m-%d").ok()?;
    Some(TimePoint {
        at: f64::from(monday.num_days_from_ce()),
        label,
        mark: Mark { value: row.estimate, low: None, high: None, look: Look::Firm },
        centre: row.own.centre,
        lower: row.low,
        upper: row.high,
        signal: row.own.signal.map(|signal| signal.word().to_owned()),
    })
}
