//! Tables of fault rates beside the rates themselves: sites standardised, faults that come back, times to
//! restore, scatter and trend.

use super::{NAME, beside, linked, worded};
use crate::measures::{Review, Row, Table, Unit};
use crate::report::page::page_table::{PageTable, Set};
use crate::report::questions::{Estimates, labelled};
use crate::report::words::label::says;
use crate::report::words::number::{Amount, number, probability, whole};

pub(in crate::report) const STANDARDISED: &str = "standardised-per-1000-months";
const MEDIAN: &str = "restore-hours-median";

/// Sites as if each had the fleet's mix, their own rate and ratio beside it.
pub(in crate::report) fn sites(review: &Review, table: &Table) -> PageTable {
    let rows = linked(review, table, "site", STANDARDISED);
    let estimates = Estimates {
        caption: "Sites at the fleet's mix of stages and families, per time in force",
        place: "site",
        n: "connection-months",
        events: "faults",
        estimate: "per 1,000 connection-months",
        file: NAME,
    };
    let extra = [
        ("share of the mix, %", Set::Number),
        ("its own mix", Set::Number),
        ("its own mix, to the rest", Set::Number),
        ("interval, to the rest", Set::Number),
        ("q", Set::Number),
    ];
    estimates.with(review, &labelled(&rows), &extra, |row| {
        let weight = number(table.own(row, "weight"));
        let ratio = beside(table, row, "ratio-to-rest");
        let q = ratio.and_then(|row| number(table.own(row, "q")));
        let [own, _] = worded(beside(table, row, "faults-per-1000-months"));
        let [value, interval] = worded(ratio);
        vec![
            whole(weight.map(|weight| 100.0 * weight)),
            own,
            value,
            interval,
            q.map_or_else(String::new, probability),
        ]
    })
}

/// The mean number of linked faults a mating has had by the horizon, first or not.
pub(in crate::report) fn recurrences(review: &Review, table: &Table) -> PageTable {
    let horizon = f64::from(review.horizon_days);
    let at_horizon = |row: &&Row| number(table.own(row, "day")) == Some(horizon);
    let mut rows: Vec<&Row> = Vec::new();
    for by in ["fleet", "stage", "family"] {
        let own = linked(review, table, by, "mean-cumulative-faults");
        rows.extend(own.into_iter().filter(at_horizon));
    }
    let caption = format!("All linked faults within {horizon} days, first or not");
    let estimates = Estimates {
        caption: &caption,
        place: "group",
        n: "matings",
        events: "faults",
        estimate: "per 1,000 matings",
        file: NAME,
    };
    let extra = [
        ("still followed at the end", Set::Number),
        ("not the first, %", Set::Number),
        ("interval, %", Set::Number),
    ];
    estimates.with(review, &labelled(&rows), &extra, |row| {
        let [repeats, interval] = worded(beside(table, row, "repeat-faults"));
        vec![whole(number(table.own(row, "at_risk"))), repeats, interval]
    })
}

/// Quartiles of the time to restore, hours out of service.
pub(in crate::report) fn restore_times(review: &Review, table: &Table) -> PageTable {
    let mut rows: Vec<&Row> = Vec::new();
    for by in ["fleet", "stage", "family"] {
        rows.extend(linked(review, table, by, MEDIAN));
    }
    let estimates = Estimates {
        caption: "How long linked faults of the period lasted, from opening to clearing",
        place: "group",
        n: "faults cleared",
        events: "",
        estimate: "median hours",
        file: NAME,
    };
    let extra = [
        ("a quarter is done by", Set::Number),
        ("interval, a quarter", Set::Number),
        ("three quarters by", Set::Number),
        ("interval, three quarters", Set::Number),
        ("mean", Set::Number),
        ("hours out of service", Set::Number),
        ("faults that state them", Set::Number),
    ];
    estimates.with(review, &labelled(&rows), &extra, |row| {
        let [low, low_interval] = worded(beside(table, row, "restore-hours-lower-quartile"));
        let [high, high_interval] = worded(beside(table, row, "restore-hours-upper-quartile"));
        let [mean, _] = worded(beside(table, row, "restore-hours"));
        let out = beside(table, row, "downtime-hours");
        let stated = out.and_then(|row| row.events).map(|events| events as f64);
        let [hours, _] = worded(out);
        vec![low, low_interval, high, high_interval, mean, hours, whole(stated)]
    })
}

/// How much more than chance site-weeks scatter.
pub(in crate::report) fn scatter(table: &Table) -> PageTable {
    let headings = [
        ("faults", Set::Words),
        ("counted", Set::Words),
        ("site-weeks", Set::Number),
        ("faults in them", Set::Number),
        ("variance over chance", Set::Number),
        ("p", Set::Number),
        ("taken for intervals", Set::Number),
    ];
    let counted =
        [("dispersion-in-force", "per time in force"), ("dispersion-by-horizon", "by the horizon")];
    let mut lines = Vec::new();
    for (quantity, words) in counted {
        for level in ["linked", "confirmed", "suspect"] {
            let is = |row: &&Row| says(table, row, "level", level);
            let Some(row) = table.rows_of("fleet", quantity).find(is) else { continue };
            let own = |name: &str| number(table.own(row, name));
            let plain = |value: Option<f64>| {
                let amount = Amount { value, low: None, high: None, unit: Unit::Ratio };
                amount.value_on(&amount.scale(""))
            };
            lines.push(vec![
                level.to_owned(),
                words.to_owned(),
                whole(Some(row.n)),
                whole(row.events.map(|events| events as f64)),
                plain(row.estimate),
                own("p").map_or_else(String::new, probability),
                plain(own("phi")),
            ]);
        }
    }
    PageTable::of("How faults of one site and week come together", &headings, lines, NAME)
}

/// "No trend beyond chance over 6 quarters (growth 1.04, 0.9 to 1.2, where 1 is none; p 0.41)."
pub(in crate::report) fn trend(review: &Review, table: &Table) -> String {
    let Some(row) = table.rows_of("fleet", "rate-growth").next() else { return String::new() };
    let (p, quarters) = (number(table.own(row, "p")), number(table.own(row, "clusters")));
    let (Some(p), Some(quarters), true) = (p, quarters, row.is_firm()) else {
        return "Too few faults to tell a trend over the quarters.".to_owned();
    };
    let amount = Amount::of(row);
    let scale = amount.scale("");
    let growth = format!(
        "growth {} ({}), where 1 is none; p {}",
        amount.value_on(&scale),
        amount.interval_on(&scale),
        probability(p)
    );
    let over = format!("over {} quarters", whole(Some(quarters)));
    // A trend is told only where test and interval agree.
    let rises = row.low.is_some_and(|low| low > 1.0);
    let falls = row.high.is_some_and(|high| high < 1.0);
    let found = match (p <= 1.0 - review.level, rises, falls) {
        (true, true, _) => format!("The rate rises {over}"),
        (true, _, true) => format!("The rate falls {over}"),
        (false, false, false) => format!("No trend beyond chance {over}"),
        _ => format!("A trend {over} is doubtful, since test and growth disagree"),
    };
    format!("{found}: {growth}.")
}
