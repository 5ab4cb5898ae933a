//! Who leaves more dirt than the others: observed against expected, and the time line of the worst end face.

use chrono::{Datelike, NaiveDate, NaiveDateTime};

use crate::charts::{
    Axis, Curve, Frame, FunnelPoint, Lane, Moment, ScatterFunnel, Stamp, TimeLine, scatter_funnel,
    time_line,
};
use crate::measures::{Review, Row, Table, Value};
use crate::report::page::picture::Picture;
use crate::report::page::section::look_back;
use crate::report::words::flags::look;
use crate::report::words::label::says;
use crate::report::words::number::number;

/// Where nothing dirty was observed a point stands at half of one, since a log axis has no zero.
const HALF: f64 = 0.5;

/// Observed against expected of everything that was tested; none where nothing was.
pub(in crate::report) fn observed(review: &Review, title: String) -> Option<Picture> {
    let table = &review.carriers;
    let rows = table.rows_of("kind+entity", "against-others");
    let points: Vec<FunnelPoint> = rows.filter_map(|row| point(table, row)).collect();
    if points.is_empty() {
        return None;
    }
    let ends = points.iter().flat_map(|point| [point.x, point.y]);
    let (low, high) = ends.fold((f64::MAX, HALF), |(low, high), end| (low.min(end), high.max(end)));
    let subtitle = format!(
        "Dirty results of everything tested, observed against expected from its cells, {}",
        look_back(review)
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

fn point(table: &Table, row: &Row) -> Option<FunnelPoint> {
    let named = says(table, row, "carrier", "yes");
    let expected = number(table.own(row, "expected")).filter(|expected| *expected > 0.0)?;
    if says(table, row, "carrier", "not tested") {
        return None;
    }
    Some(FunnelPoint {
        label: entity(table, row).to_owned(),
        x: expected,
        y: (row.events.unwrap_or(0) as f64).max(HALF),
        named,
        look: look(&row.flags),
    })
}

fn entity<'a>(table: &'a Table, row: &'a Row) -> &'a str {
    match table.own(row, "entity") {
        Value::Text(name) => name,
        _ => "",
    }
}

/// What the first end face on the list touched; none without one.
pub(in crate::report) fn worst(review: &Review) -> Option<Picture> {
    let table = &review.carriers;
    let first = table.rows_of("entity+partner", "touch").next()?;
    let name = entity(table, first);
    let touches: Vec<&Row> =
        table.rows_of("entity+partner", "touch").filter(|row| entity(table, row) == name).collect();
    let cleaned = table.rows_of("entity", "last-cleaned").find(|row| entity(table, row) == name);
    let lane = |label: &str, stamp, words: &[&str]| {
        let of =
            touches.iter().filter(|row| words.iter().any(|word| says(table, row, "later", word)));
        Lane { label: label.to_owned(), stamp, at: of.filter_map(|row| day(row)).collect() }
    };
    let lanes = vec![
        lane("came out dirty", Stamp::Diamond, &["contaminated"]),
        lane("came out clean", Stamp::Ring, &["clean"]),
        lane(
            "not looked at, or not for dirt",
            Stamp::Stroke,
            &["other-fail", "cleaned-unseen", "mated-again", "not-looked-at"],
        ),
    ];
    let dirty = lanes[0].at.len();
    let looked_at = dirty + lanes[1].at.len();
    let title = format!(
        "{name} was mated {} times: {dirty} of {looked_at} ends looked at next came out dirty",
        touches.len()
    );
    let subtitle = format!("What {name} was mated with, {}, by how it came out", look_back(review));
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
    Some(at.and_utc().timestamp() as f64 / 86_400.0)
}

fn last_day(review: &Review) -> f64 {
    days(review.period.last_day) + 1.0
}

fn days(date: NaiveDate) -> f64 {
    date.and_time(chrono::NaiveTime::MIN).and_utc().timestamp() as f64 / 86_400.0
}

/// The first of every month between.
fn months((from, to): (f64, f64)) -> Vec<Moment> {
    let Some(first) = chrono::DateTime::from_timestamp((from * 86_400.0) as i64, 0) else {
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
