//! Sites as a funnel: the share clean at the first look against the effective number of looks.

use crate::charts::{Axis, Curve, Frame, FunnelPoint, ScatterFunnel, scatter_funnel};
use crate::measures::Review;
use crate::measures::first_pass::{By, Quantity, Row, Signal, Table};
use crate::report::page::picture::{Picture, share_axis};
use crate::report::words::flags::look;
use crate::report::words::label::label;

/// Up to so many sites every one is named, so that each can be found; of more those that stand out.
const MOST_NAMED: usize = 30;

/// The funnel; none where the review has none.
pub(in crate::report) fn funnel(review: &Review) -> Option<Picture> {
    let table = &review.first_pass;
    let rows: Vec<&Row> = table.rows_of(By::Site, Quantity::SiteFunnel).collect();
    let centre = rows.first()?.own.centre?;
    let title = title(&rows);
    let subtitle = format!(
        "Share of end faces clean at the first look by site, routine visits of {}, against effective first looks \
         (looks over the design effect)",
        review.period.quarter
    );
    let mut curves = limits(table, Quantity::FunnelInner, "95\u{00A0}%");
    curves.extend(limits(table, Quantity::FunnelOuter, "99.8\u{00A0}%"));
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
        points: rows.iter().filter_map(|row| point(row, rows.len() <= MOST_NAMED)).collect(),
    };
    Some(Picture { name: "first-pass-funnel", svg: scatter_funnel(&chart) })
}

fn title(rows: &[&Row]) -> String {
    let named = |side: Signal| -> Vec<String> {
        let of = rows.iter().filter(|row| row.own.signal == Some(side));
        of.map(label).collect()
    };
    let (below, above) = (named(Signal::BelowLimits), named(Signal::AboveLimits));
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
    let phi =
        table.rows_of(By::Fleet, Quantity::FunnelDispersion).next().and_then(|row| row.estimate);
    let widened = phi.filter(|phi| *phi > 1.0).map_or_else(String::new, |phi| {
        let factor = crate::charts::number::fixed(phi.sqrt(), 1);
        format!(
            " They are {factor} times as wide as chance alone would make them, since sites differ."
        )
    });
    format!(
        "Limits hold 95\u{00A0}% and 99.8\u{00A0}% of sites that differ as these sites usually do.{widened} Sites outside the outer \
         limits are blue."
    )
}

/// Both limits of one level; the upper one carries the words.
fn limits(table: &Table, quantity: Quantity, words: &str) -> Vec<Curve> {
    let side = |end: fn(&Row) -> Option<f64>, label: &str| {
        let rows = table.rows_of(By::Fleet, quantity);
        let points: Vec<(f64, f64)> = rows.filter_map(|row| Some((row.n, end(row)?))).collect();
        Curve { label: label.to_owned(), dashed: true, points }
    };
    vec![side(|row| row.high, words), side(|row| row.low, "")]
}

fn centre_line(table: &Table, centre: f64) -> Curve {
    let sizes = table.rows_of(By::Fleet, Quantity::FunnelOuter).map(|row| (row.n, centre));
    Curve { label: "fleet".to_owned(), dashed: false, points: sizes.collect() }
}

fn point(row: &Row, all_named: bool) -> Option<FunnelPoint> {
    Some(FunnelPoint {
        label: label(row),
        x: row.own.n_effective?,
        y: row.estimate?,
        named: all_named || row.own.signal.is_some(),
        strong: row.own.signal.is_some(),
        look: look(&row.flags),
    })
}
