//! Who leaves more dirt than the others: observed against expected, and the time line of the worst end face.

use chrono::{Datelike, NaiveDate, NaiveDateTime};

use super::tables::name;
use crate::calendar::DAY_S;
use crate::charts::{
    Axis, Curve, Frame, FunnelPoint, Lane, Moment, ScatterFunnel, Stamp, TimeLine, scatter_funnel,
    time_line,
};
use crate::measures::Review;
use crate::measures::carriers::{By, Outcome, Quantity, Row, Verdict};
use crate::report::page::picture::Picture;
use crate::report::words::flags::look;
use crate::report::words::months::looked_back;

/// Where nothing dirty was observed a point stands at half of one, since a log axis has no zero.
const HALF: f64 = 0.5;

/// Observed against expected of everything that was tested; none where nothing was.
pub(in crate::report) fn observed(review: &Review, title: String) -> Option<Picture> {
    let rows = review.carriers.rows_of(By::KindEntity, Quantity::AgainstOthers);
    let points: Vec<FunnelPoint> = rows.filter_map(point).collect();
    if points.is_empty() {
        return None;
    }
    let ends = points.iter().flat_map(|point| [point.x, point.y]);
    let (low, high) = ends.fold((f64::MAX, HALF), |(low, high), end| (low.min(end), high.max(end)));
    let subtitle = format!(
        "Dirty results of everything tested, observed against expected from its cells, {}",
        looked_back(review)
    );
    let chart = ScatterFunnel {
        frame: Frame {
            description: format!("{title}. {subtitle}."),
            title,
            subtitle,
            caption: "The diagonal: as many as expected. Named: conspicuous under both tests. Points without a dirty \
                      result stand at a half, since a log axis has no zero."
                .to_owned(),
        },
        x: Axis::Ratio,
        x_label: "expected dirty results".to_owned(),
        y: Axis::Ratio,
        y_label: "observed dirty results".to_owned(),
        curves: vec![Curve {
            label: "as expected".to_owned(),
            dashed: false,
            points: vec![(low, low), (high, high)],
        }],
        points,
    };
    Some(Picture { name: "carriers", svg: scatter_funnel(&chart) })
}

fn point(row: &Row) -> Option<FunnelPoint> {
    let named = match row.own.carrier? {
        Verdict::Listed => true,
        Verdict::NotListed => false,
        Verdict::NotTested => return None,
    };
    Some(FunnelPoint {
        label: name(row).to_owned(),
        x: row.own.expected.filter(|expected| *expected > 0.0)?,
        y: (row.events.unwrap_or(0) as f64).max(HALF),
        named,
        strong: named,
        look: look(&row.flags),
    })
}

/// How a touch is drawn.
fn stamp(later: Outcome) -> Stamp {
    match later {
        Outcome::Contaminated => Stamp::Diamond,
        Outcome::Clean => Stamp::Ring,
        Outcome::Prompted
        | Outcome::OtherFail
        | Outcome::CleanedUnseen
        | Outcome::MatedAgain
        | Outcome::NotLookedAt => Stamp::Stroke,
    }
}

/// What the first end face on the list touched; none without one.
pub(in crate::report) fn worst(review: &Review) -> Option<Picture> {
    let table = &review.carriers;
    let name = name(table.rows_of(By::EntityPartner, Quantity::Touch).next()?);
    let is_its = |row: &&Row| row.own.entity.as_deref() == Some(name);
    let touches: Vec<&Row> =
        table.rows_of(By::EntityPartner, Quantity::Touch).filter(is_its).collect();
    let cleaned = table.rows_of(By::Entity, Quantity::LastCleaned).find(is_its);
    let lane = |label: &str, drawn: Stamp| {
        let of = touches.iter().filter(|row| row.own.later.is_some_and(|it| stamp(it) == drawn));
        Lane { label: label.to_owned(), stamp: drawn, at: of.filter_map(|row| day(row)).collect() }
    };
    let lanes = vec![
        lane("came out dirty", Stamp::Diamond),
        lane("came out clean", Stamp::Ring),
        lane("not looked at, or not for dirt", Stamp::Stroke),
    ];
    let dirty = lanes[0].at.len();
    let looked_at = dirty + lanes[1].at.len();
    let title = format!(
        "{name} was mated {} times: {dirty} of {looked_at} ends looked at next came out dirty",
        touches.len()
    );
    let subtitle =
        format!("What {name} was mated with, {}, by how it came out", looked_back(review));
    let ends =
        (touches.iter().filter_map(|row| day(row)).fold(f64::MAX, f64::min), last_day(review));
    let divider = |row: &Row| {
        let date = row.group.time.as_deref().and_then(|time| time.get(..10)).unwrap_or_default();
        Some(Moment { at: day(row)?, label: format!("last cleaned {date}") })
    };
    let chart = TimeLine {
        frame: Frame {
            description: format!("{title}. {subtitle}."),
            title,
            subtitle,
            caption: "A filled diamond: dirty at the next look. An open circle: clean. A stroke: not known.".to_owned(),
        },
        ends,
        dates: months(ends),
        lanes,
        dividers: cleaned.and_then(divider).into_iter().collect(),
    };
    Some(Picture { name: "carrier-time-line", svg: time_line(&chart) })
}

/// The instant of a row in days.
fn day(row: &Row) -> Option<f64> {
    let at = NaiveDateTime::parse_from_str(row.group.time.as_deref()?, "%Y-%m-%d %H:%M").ok()?;
    Some(at.and_utc().timestamp() as f64 / DAY_S as f64)
}

fn last_day(review: &Review) -> f64 {
    days(review.period.last_day) + 1.0
}

fn days(date: NaiveDate) -> f64 {
    date.and_time(chrono::NaiveTime::MIN).and_utc().timestamp() as f64 / DAY_S as f64
}

/// The first of every month between.
fn months((from, to): (f64, f64)) -> Vec<Moment> {
    let Some(first) = chrono::DateTime::from_timestamp((from * DAY_S as f64) as i64, 0) else {
        return Vec::new();
    };
    let first = first.date_naive();
    let firsts = (0..200).filter_map(|ahead| {
        let month = first.year() * 12 + first.month0() as i32 + ahead;
        NaiveDate::from_ymd_opt(month.div_euclid(12), month.rem_euclid(12) as u32 + 1, 1)
    });
    firsts
        .map(|date| Moment { at: days(date), label: date.format("%Y-%m").to_string() })
        .filter(|moment| moment.at >= from && moment.at <= to)
        .collect()
}
