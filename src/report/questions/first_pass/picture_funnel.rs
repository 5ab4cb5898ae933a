//! Sites as a funnel: the share clean at the first look against the effective number of looks.

use crate::charts::{Axis, Curve, Frame, FunnelPoint, ScatterFunnel, scatter_funnel};
use crate::measures::{Review, Row, Table, Value};
use crate::report::page::picture::{Picture, share_axis};
use crate::report::words::flags::look;
use crate::report::words::label::label;
use crate::report::words::number::number;

/// The funnel; none where the review has none.
pub(in crate::report) fn funnel(review: &Review) -> Option<Picture> {
    let table = review.table("first_pass");
    let rows: Vec<&Row> = table.rows_of("site", "site-funnel").collect();
    let centre = number(table.own(rows.first()?, "centre"))?;
    let title = title(table, &rows);
    let subtitle = format!(
        "Share of end faces clean at the first look by site, routine visits of {}, against effective first looks \
         (looks over the design effect)",
        review.period.quarter
    );
    let mut curves = limits(table, "funnel-limits-inner", "95\u{00A0}%");
    curves.extend(limits(table, "funnel-limits-outer", "99.8\u{00A0}%"));
    curves.push(centre_line(table, centre));
    let chart = ScatterFunnel {
        frame: Frame {
            description: format!("{title}. {subtitle}."),
            title,
            subtitle,
            caption: caption(table),
        },
        x: Axis::Amount { unit: String::new() },
        x_label: "effective first looks".to_owned(),
        y: share_axis(&rows),
        y_label: "share clean".to_owned(),
        curves,
        points: rows.iter().filter_map(|row| point(table, row)).collect(),
    };
    Some(Picture { name: "first-pass-funnel", svg: scatter_funnel(&chart) })
}

fn signal<'a>(table: &'a Table, row: &'a Row) -> Option<&'a str> {
    match table.own(row, "signal") {
        Value::Text(signal) => Some(signal),
        _ => None,
    }
}

fn title(table: &Table, rows: &[&Row]) -> String {
    let named = |side: &str| -> Vec<String> {
        let of = rows.iter().filter(|row| signal(table, row) == Some(side));
        of.map(|row| label(row)).collect()
    };
    let (below, above) = (named("below the limits"), named("above the limits"));
    let said = |names: &[String], words: &str| match names {
        [] => None,
        [one] => Some(format!("{one} {words}")),
        many => Some(format!("{} sites {words}", many.len())),
    };
    let below = said(&below, "below");
    let above = said(&above, "above");
    match below.into_iter().chain(above).collect::<Vec<_>>().as_slice() {
        [] => format!(
            "None of {} sites differs from the fleet by more than sites usually do",
            rows.len()
        ),
        parts => format!("Outside the funnel of {} sites: {}", rows.len(), parts.join(", ")),
    }
}

fn caption(table: &Table) -> String {
    let phi = table.rows_of("fleet", "funnel-dispersion").next().and_then(|row| row.estimate);
    let widened = phi.filter(|phi| *phi > 1.0).map_or_else(String::new, |phi| {
        let factor = crate::charts::number::fixed(phi.sqrt(), 1);
        format!(
            " They are {factor} times as wide as chance alone would make them, since sites differ."
        )
    });
    format!(
        "Limits hold 95\u{00A0}% and 99.8\u{00A0}% of sites that differ as these sites usually do.{widened} Sites outside the outer \
         limits are named."
    )
}

/// Both limits of one level; the upper one carries the words.
fn limits(table: &Table, quantity: &str, words: &str) -> Vec<Curve> {
    let side = |end: fn(&Row) -> Option<f64>, label: &str| {
        let rows = table.rows_of("fleet", quantity);
        let points: Vec<(f64, f64)> = rows.filter_map(|row| Some((row.n, end(row)?))).collect();
        Curve { label: label.to_owned(), dashed: true, points }
    };
    vec![side(|row| row.high, words), side(|row| row.low, "")]
}

fn centre_line(table: &Table, centre: f64) -> Curve {
    let sizes = table.rows_of("fleet", "funnel-limits-outer").map(|row| (row.n, centre));
    Curve { label: "fleet".to_owned(), dashed: false, points: sizes.collect() }
}

fn point(table: &Table, row: &Row) -> Option<FunnelPoint> {
    Some(FunnelPoint {
        label: label(row),
        x: number(table.own(row, "n_effective"))?,
        y: row.estimate?,
        named: signal(table, row).is_some(),
        look: look(&row.flags),
    })
}
