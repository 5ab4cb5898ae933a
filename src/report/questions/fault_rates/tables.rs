//! Tables of fault rates that are not of the rates themselves: sites standardised, faults that come back, times to
//! restore, scatter and trend.

use super::picked::{interval, linked, same_place, value};
use crate::measures::fault_rates::{By, Certainty, NAME, Quantity, Row, Table};
use crate::measures::{Review, Unit};
use crate::report::page::page_table::PageTable;
use crate::report::words::label::label;
use crate::report::words::number::{Amount, probability, whole};

/// Sites as if each had the fleet's mix, with their own rate and ratio.
pub(in crate::report) fn sites(review: &Review, table: &Table) -> PageTable {
    let rows = linked(review, table, &[By::Site], Quantity::Standardised);
    let ratio = |row: &Row| same_place(table, row, Quantity::RatioToRest);
    PageTable::over(&rows)
        .words("site", label)
        .n("connection-months")
        .events("faults")
        .estimates(review, "per 1,000 connection-months")
        .numbers("share of the mix, %", |row| whole(row.own.weight.map(|weight| 100.0 * weight)))
        .numbers("its own mix", |row| value(same_place(table, row, Quantity::PerMonths)))
        .numbers("its own mix, to the rest", |row| value(ratio(row)))
        .numbers("interval, to the rest", |row| interval(ratio(row)))
        .numbers("q", |row| {
            ratio(row).and_then(|row| row.own.q).map_or_else(String::new, probability)
        })
        .flags()
        .set("Sites at the fleet's mix of stages and families, per time in force", NAME)
}

/// The mean number of linked faults a mating has had by the horizon, first or not.
pub(in crate::report) fn recurrences(review: &Review, table: &Table) -> PageTable {
    let horizon = review.horizon_days;
    let groupings = [By::Fleet, By::Stage, By::Family];
    let mut rows = linked(review, table, &groupings, Quantity::MeanCumulative);
    rows.retain(|row| row.own.day == Some(horizon));
    let repeats = |row: &Row| same_place(table, row, Quantity::RepeatFaults);
    PageTable::over(&rows)
        .words("group", label)
        .n("matings")
        .events("faults")
        .estimates(review, "per 1,000 matings")
        .numbers("still followed at the end", |row| {
            whole(row.own.at_risk.map(|count| count as f64))
        })
        .numbers("not the first, %", |row| value(repeats(row)))
        .numbers("interval, %", |row| interval(repeats(row)))
        .flags()
        .set(&format!("All linked faults within {horizon} days, first or not"), NAME)
}

/// Quartiles of the time to restore, hours out of service.
pub(in crate::report) fn restore_times(review: &Review, table: &Table) -> PageTable {
    let groupings = [By::Fleet, By::Stage, By::Family];
    let rows = linked(review, table, &groupings, Quantity::RestoreMedian);
    let of = |row: &Row, quantity| same_place(table, row, quantity);
    PageTable::over(&rows)
        .words("group", label)
        .n("faults cleared or open")
        .estimates(review, "median hours")
        .numbers("a quarter is done by", |row| value(of(row, Quantity::RestoreLowerQuartile)))
        .numbers("interval, a quarter", |row| interval(of(row, Quantity::RestoreLowerQuartile)))
        .numbers("three quarters by", |row| value(of(row, Quantity::RestoreUpperQuartile)))
        .numbers("interval, three quarters", |row| {
            interval(of(row, Quantity::RestoreUpperQuartile))
        })
        .numbers("mean", |row| value(of(row, Quantity::RestoreHours)))
        .numbers("hours out of service", |row| value(of(row, Quantity::DowntimeHours)))
        .numbers("faults that state them", |row| {
            let stated = of(row, Quantity::DowntimeHours).and_then(|row| row.events);
            whole(stated.map(|events| events as f64))
        })
        .flags()
        .set("How long linked faults of the period lasted, from opening to clearing", NAME)
}

/// How much more than chance the blocks of sites scatter.
pub(in crate::report) fn scatter(table: &Table) -> PageTable {
    let counted = [
        (Quantity::DispersionInForce, "per time in force"),
        (Quantity::DispersionByHorizon, "by the horizon"),
    ];
    let mut rows: Vec<(&str, &Row)> = Vec::new();
    for (quantity, words) in counted {
        for level in Certainty::ALL {
            let mut of_fleet = table.rows_of(By::Fleet, quantity);
            let row = of_fleet.find(|row| row.own.level == *level);
            rows.extend(row.map(|row| (words, row)));
        }
    }
    PageTable::over(&rows)
        .words("faults", |(_, row)| row.own.level.word().to_owned())
        .words("counted", |(words, _)| (*words).to_owned())
        .words("blocks of a site", |(_, row)| {
            row.own.block.map_or_else(String::new, |block| block.word().to_owned())
        })
        .numbers("blocks", |(_, row)| whole(Some(row.n)))
        .numbers("faults in them", |(_, row)| whole(row.events.map(|events| events as f64)))
        .numbers("variance over chance", |(_, row)| Amount::plain(row.estimate, Unit::Ratio).bare())
        .numbers("p", |(_, row)| row.own.p.map_or_else(String::new, probability))
        .numbers("taken for intervals", |(_, row)| Amount::plain(row.own.phi, Unit::Ratio).bare())
        .set("How faults of one site and time come together", NAME)
}

/// "No trend beyond chance over 6 quarters (growth 1.04, 0.9 to 1.2, where 1 is none; p 0.41)."
pub(in crate::report) fn trend(review: &Review, table: &Table) -> String {
    let Some(row) = table.rows_of(By::Fleet, Quantity::RateGrowth).next() else {
        return String::new();
    };
    let (Some(p), Some(quarters), true) = (row.own.p, row.own.clusters, row.is_firm()) else {
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
    let over = format!("over {quarters} quarters");
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
