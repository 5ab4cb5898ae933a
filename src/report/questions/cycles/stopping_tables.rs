//! The tables and the sentence of Q2's stopping rule.

use crate::measures::cycles::{By, NAME, Quantity, Row, Table};
use crate::measures::results::Money;
use crate::measures::{Review, Unit};
use crate::report::page::page_table::PageTable;
use crate::report::questions::firm;
use crate::report::words::flags::words;
use crate::report::words::label::{in_order, label};
use crate::report::words::number::{Amount, whole};

/// After how many cycles to give up, how far the records tell it from longer limits, and what the present practice costs
/// against it; none where that cannot be said.
pub(in crate::report) fn stopping_words(review: &Review, table: &Table) -> Option<String> {
    // A limit beyond the data has no estimate and is none the less firm.
    let best = table.rows_of(By::Fleet, Quantity::StoppingLimit).find(|row| row.is_firm())?;
    let advised = best.own.advised?;
    let limit = match advised {
        0 => "Cleaning costs no less than a reject from the first cycle on".to_owned(),
        limit => format!("Give up after {}", cycles(limit.into())),
    };
    let reach = best.own.at_least.map(i64::from);
    let flat = best.own.flat_to.map(i64::from).filter(|flat_to| *flat_to > i64::from(advised));
    let (mark, flat) = match (flat, reach) {
        (Some(flat_to), Some(reach)) if flat_to == reach => (
            ": ",
            format!(
                "up to {}, as far as the records reach, costs cannot be told apart",
                cycles(flat_to as f64)
            ),
        ),
        (Some(flat_to), Some(reach)) => (
            ": ",
            format!(
                "up to {} costs cannot be told apart; the records reach no further than {}",
                cycles(flat_to as f64),
                cycles(reach as f64)
            ),
        ),
        (Some(flat_to), None) => {
            (": ", format!("up to {} costs cannot be told apart", cycles(flat_to as f64)))
        }
        (None, Some(reach)) => {
            ("; ", format!("the records reach no further than {}", cycles(reach as f64)))
        }
        (None, None) => ("", String::new()),
    };
    let over = |quantity| firm(table.rows_of(By::Fleet, quantity));
    let practice = over(Quantity::PresentExcess);
    if let Some(row) = practice.filter(|row| row.high.is_some_and(|high| high < 0.0)) {
        let dearer = |row: &Row| Amount::of(row).turned().full(&review.currency);
        let yearly = over(Quantity::PresentExcessYear)
            .map_or_else(String::new, |row| format!(", {} a year", dearer(row)));
        let flat = if flat.is_empty() { flat } else { format!("; {flat}") };
        return Some(format!(
            "Leave the present practice as it is: to give up after {}, the shortest limit within the interval of the best, \
             would cost {} an end face more{yearly}{flat}",
            cycles(advised.into()),
            dearer(row)
        ));
    }
    let excess = practice.map_or_else(String::new, |row| {
        let amount = Amount::of(row).full(&review.currency);
        let yearly = over(Quantity::PresentExcessYear).map_or_else(String::new, |row| {
            format!(", {} a year", Amount::of(row).full(&review.currency))
        });
        match (row.low, row.high) {
            (Some(low), Some(high)) if low <= 0.0 && 0.0 <= high => format!(
                "; the present practice costs the same within its interval ({amount} an end face{yearly})"
            ),
            _ => format!("; the present practice costs {amount} an end face more{yearly}"),
        }
    });
    Some(format!("{limit}{mark}{flat}{excess}"))
}

fn cycles(limit: f64) -> String {
    let noun = if limit == 1.0 { "cycle" } else { "cycles" };
    format!("{} {noun}", whole(Some(limit)))
}

/// The best limit of every group: "8", "at least 5".
fn limit(row: &Row) -> String {
    match row.own.at_least {
        Some(least) => format!("at least {least}"),
        None => whole(row.estimate),
    }
}

/// How the rule works.
pub(in crate::report) const METHOD: &str = "When to stop: a cycle costs one cleaning and one look, an end face rejected or given up costs a \
    reject, and the best limit is that of least expected cost (backward induction, Bellman 1957), of up to 20 cycles. Chances of passing and of \
    a defect are those observed at each cycle that enough end faces came to, after that the beta-geometric fit and the \
    pooled share lost to a defect: what lies there is drawn broken and never the advice. The advice is the shortest limit that the \
    records reach whose cost lies within the interval of the least they tell, since a shorter one that costs the same is \
    done sooner; the worklist goes by it. As observed: given up after each cycle as often as visits of known next step were left \
    failing or rejected still contaminated: that is a decision, and no chance of the cycle. Intervals: thousand resamples of site-weeks, or of the blocks that stand for them, each worked out anew. Where the records never came to a \
    cycle that did not pay, the limit is at least the last cycle they tell of. Cleaned without a look: the first \
    cleaning of each such visit, times the share that passed among first looks of the stage; recessed lenses left out.";

/// Best limit, and what limits and the present practice cost, a row a group.
pub(in crate::report) fn limits(review: &Review, table: &Table) -> PageTable {
    let groupings = [By::Fleet, By::Stage, By::Family, By::Treatment].into_iter();
    let rows: Vec<&Row> = groupings
        .flat_map(|by| in_order(review, table.rows_of(by, Quantity::StoppingLimit)))
        .collect();
    let currency = &review.currency;
    let same = |row: &Row, quantity, cycle: Option<u32>| {
        let mut others = table.rows_of(row.by, quantity).filter(|other| other.group == row.group);
        others.find(|other| other.own.cycle == cycle)
    };
    let cost = |quantity, cycle| {
        move |row: &&Row| {
            let amount = |row| Amount::of(row).short(currency);
            same(row, quantity, cycle).map_or_else(|| "–".to_owned(), amount)
        }
    };
    PageTable::over(&rows)
        .words("group", label)
        .n("end faces")
        .numbers("give up after, cycles", |row| whole(row.own.advised.map(f64::from)))
        .numbers("the same up to", |row| whole(row.own.flat_to.map(f64::from)))
        .words("best limit, cycles", |row| limit(row))
        .words("interval", |row| limit_interval(&Amount::of(row)))
        .numbers("best by the fit", |row| whole(row.own.extended.map(f64::from)))
        .words("cost given up after 3", cost(Quantity::CostAtLimit, Some(3)))
        .words("after 5", cost(Quantity::CostAtLimit, Some(5)))
        .words("as observed", cost(Quantity::PresentCost, None))
        .words("as observed, over the advice", |row| {
            let amount = |row| Amount::of(row).full(currency);
            same(row, Quantity::PresentExcess, None).map_or_else(|| "–".to_owned(), amount)
        })
        .words("the same a year", |row| {
            let amount = |row| Amount::of(row).full(currency);
            same(row, Quantity::PresentExcessYear, None).map_or_else(|| "–".to_owned(), amount)
        })
        .words("flag", |row| words(&row.flags))
        .set_first(40, "When to stop cleaning: cost per end face", NAME)
}

/// "3 to 6", "3 or more".
fn limit_interval(amount: &Amount) -> String {
    match (amount.low, amount.high) {
        (Some(low), None) => format!("{} or more", whole(Some(low))),
        (Some(low), Some(high)) => format!("{} to {}", whole(Some(low)), whole(Some(high))),
        _ => String::new(),
    }
}

/// The cost at every limit, all end faces.
pub(in crate::report) fn costs(review: &Review, table: &Table) -> PageTable {
    let rows: Vec<&Row> = table.rows_of(By::Fleet, Quantity::CostAtLimit).collect();
    let excess = |row: &Row| Amount {
        value: minor(row.own.excess),
        low: minor(row.own.excess_low),
        high: minor(row.own.excess_high),
        unit: Unit::Money,
    };
    PageTable::over(&rows)
        .numbers("given up after, cycles", |row| whole(row.own.cycle.map(f64::from)))
        .numbers("came to that cycle", |row| whole(row.own.at_risk.map(|count| count as f64)))
        .words("cost per end face", |row| Amount::of(row).full(&review.currency))
        .words("over the best that is reached", |row| excess(row).full(&review.currency))
        .numbers("best in resamples, %", |row| Amount::plain(row.own.chosen, Unit::Share).bare())
        .words("flag", |row| words(&row.flags))
        .set("Cost per end face by the cycle after which it is given up, all methods", NAME)
}

/// What cleaning before looking costs, and the looks that it saves.
pub(in crate::report) fn unseen(review: &Review, table: &Table) -> PageTable {
    let groupings = [By::Fleet, By::Stage].into_iter();
    let rows: Vec<&Row> = groupings
        .flat_map(|by| in_order(review, table.rows_of(by, Quantity::NeedlessUnseenCost)))
        .collect();
    PageTable::over(&rows)
        .words("group", label)
        .n("visits begun unseen")
        .words("cleanings of what would have passed", |row| Amount::of(row).full(&review.currency))
        .words("looks saved", |row| {
            Amount::plain(minor(row.own.looks_saved), Unit::Money).short(&review.currency)
        })
        .words("flag", |row| words(&row.flags))
        .set("What cleaning without a look costs", NAME)
}

/// Minor units as a number.
fn minor(money: Option<Money>) -> Option<f64> {
    money.map(|Money(minor)| minor as f64)
}
