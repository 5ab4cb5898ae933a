//! Purchases: cash over the months, what each depends on, what a budget buys.

use super::tables::input as input_text;
use crate::charts::number::{fixed, percent};
use crate::charts::{
    CashFan, CashPanel, CashPoint, Ladder, LadderStep, Reference, Tornado, TornadoBar,
    TornadoPanel, cash_fan, ladder as draw_ladder, tornado,
};
use crate::measures::{Review, Row, Unit};
use crate::report::page::picture::{Picture, frame, mark};
use crate::report::words::number::{Amount, Scale, major, number};
use crate::report::words::purchase::{Purchase, answer, chance, ladder, purchases, sum, text};

/// Proposals that have a value.
fn valued(review: &Review) -> Vec<Purchase<'_>> {
    purchases(review).into_iter().filter(|own| own.worth.estimate.is_some()).collect()
}

/// Cash over the months of every proposal.
pub(in crate::report) fn cash_fans(review: &Review) -> Option<Picture> {
    let all = valued(review);
    let first = all.first()?;
    let title = match first.row("payback-month").filter(|_| first.worth.is_firm()) {
        Some(row) if row.estimate.is_some() => format!(
            "{}: paid back after {} months{}",
            first.name,
            fixed(row.estimate.unwrap_or(0.0), 0),
            between(row)
        ),
        Some(_) => "No proposal is more likely than not to be paid back within its life".to_owned(),
        None => "No proposal can be judged firmly by these records".to_owned(),
    };
    let caption = "Discounted cash summed up, price first. Band: interval. Mark on the zero line: the month of payback \
                   with its interval; a line that never ends right has draws that are never paid back. Broken and grey: \
                   flagged, in no ranking.";
    let chart = CashFan {
        frame: frame(review, title, "Cash so far by month after the purchase", caption),
        unit: review.currency.clone(),
        panels: all.iter().map(|own| panel(review, own)).collect(),
        rest: "in tables/payback.csv".to_owned(),
    };
    Some(Picture { name: "purchase-cash", svg: cash_fan(&chart) })
}

fn between(row: &Row) -> String {
    match (row.low, row.high) {
        (Some(low), Some(high)) => format!(" ({} to {})", fixed(low, 0), fixed(high, 0)),
        (Some(low), None) => format!(" ({} to never)", fixed(low, 0)),
        _ => String::new(),
    }
}

fn panel(review: &Review, own: &Purchase) -> CashPanel {
    let point = |row: &Row| {
        Some(CashPoint {
            month: number(own.table.own(row, "month"))?,
            value: major(row.estimate?),
            low: row.low.map(major),
            high: row.high.map(major),
        })
    };
    let share = own.row("pays-back").and_then(|row| row.estimate).unwrap_or(0.0);
    let life = own.number("life_months").unwrap_or(0.0);
    let month = own.row("payback-month");
    let mut payback = month.map(mark).unwrap_or_default();
    // Some draws are never paid back: the line goes on to the end of the life, and beyond.
    if payback.value.is_some() && payback.high.is_none() {
        payback.high = Some(f64::MAX);
    }
    CashPanel {
        title: own.name.to_owned(),
        note: format!(
            "{}, {} after it; {} of paying back in {} months",
            own.price(review),
            Amount::of(own.worth).full(&review.currency),
            chance(share),
            fixed(life, 0)
        ),
        points: own.rows("proposal+month", "cash").filter_map(point).collect(),
        payback,
        look: mark(own.worth).look,
    }
}

/// What each proposal depends on.
pub(in crate::report) fn purchase_tornado(review: &Review) -> Option<Picture> {
    let all = valued(review);
    let panels: Vec<TornadoPanel> = all
        .iter()
        .map(|own| TornadoPanel {
            title: own.name.to_owned(),
            middle: own
                .rows("proposal+input", "tornado")
                .next()
                .and_then(|row| row.estimate)
                .map(major),
            bars: own.rows("proposal+input", "tornado").map(|row| bar(review, own, row)).collect(),
        })
        .filter(|panel| !panel.bars.is_empty())
        .collect();
    let widest = all.iter().find_map(|own| {
        let row = own.rows("proposal+input", "tornado").next()?;
        let amount = Amount { value: None, ..Amount::of(row) };
        let scale = Scale::for_all([&amount], amount.unit, &review.currency);
        let ends = amount.interval_on(&scale);
        Some(format!(
            "{}: most depends on {}: {ends} {}",
            own.name,
            text(own.table, row, "input"),
            scale.unit
        ))
    })?;
    let caption = "Bars: what the purchase is worth with one input at either end of its interval and all others at their \
                   means. Broken line: all at their means. Thick line: zero, where it just pays.";
    let chart = Tornado {
        frame: frame(review, widest, "Net present value, one input at a time", caption),
        unit: review.currency.clone(),
        axis_label: "net present value".to_owned(),
        columns: vec!["low".to_owned(), "high".to_owned(), "from".to_owned()],
        panels,
        rest: "in tables/payback.csv".to_owned(),
    };
    Some(Picture { name: "purchase-tornado", svg: tornado(&chart) })
}

fn bar(review: &Review, own: &Purchase, row: &Row) -> TornadoBar {
    let of = |column: &str| number(own.table.own(row, column));
    // Ends of money are rounded here; the table has them to the cent.
    let end = |column: &str| match text(own.table, row, "input_unit") {
        "minor units" => {
            let value = of(column);
            Amount { value, low: None, high: None, unit: Unit::Money }.short(&review.currency)
        }
        _ => input_text(own.table, row, of(column)),
    };
    TornadoBar {
        label: text(own.table, row, "input").to_owned(),
        at_low: of("worth_at_low").map(major),
        at_high: of("worth_at_high").map(major),
        texts: vec![end("input_low"), end("input_high"), text(own.table, row, "source").to_owned()],
    }
}

/// What every sum buys.
pub(in crate::report) fn purchase_ladder(review: &Review) -> Option<Picture> {
    let (table, rows) = (&review.payback, ladder(review));
    if rows.is_empty() {
        return None;
    }
    let of = |row: &Row, column: &str| number(table.own(row, column));
    let amounts: Vec<Amount> = rows.iter().map(Amount::of).collect();
    let scale = Scale::for_all(&amounts, Unit::Money, &review.currency);
    let step = |(row, amount): (&&Row, &Amount)| {
        let share = of(row, "probability").unwrap_or(0.0);
        Some(LadderStep {
            label: text(table, row, "set").to_owned(),
            cost: of(row, "price").map(major)?,
            worth: row.estimate.map(major)?,
            low: row.low.map(major),
            high: row.high.map(major),
            text: format!(
                "{}: worth {} ({}) {}, {}",
                sum(review, of(row, "price").unwrap_or(0.0)),
                amount.value_on(&scale),
                amount.interval_on(&scale),
                scale.unit,
                short_chance(share)
            ),
            chosen: text(table, row, "chosen") == "yes",
        })
    };
    let budget = rows.first().and_then(|row| of(row, "budget"));
    let caption = "The best set of proposals for every sum, what one saves not counted again for another. Band: interval. \
                   At the right: price, worth with its interval, and the share of draws in which the set pays. Ringed: the \
                   choice for the budget. Flagged proposals are in no set.";
    let chart = Ladder {
        frame: frame(
            review,
            answer(review),
            "Net present value of the best set by what is spent",
            caption,
        ),
        unit: review.currency.clone(),
        cost_label: "price of the set".to_owned(),
        worth_label: "net present value".to_owned(),
        budget: budget.map(|budget| Reference {
            value: major(budget),
            label: format!("budget {}", sum(review, budget)),
        }),
        steps: rows.iter().zip(&amounts).filter_map(step).collect(),
    };
    Some(Picture { name: "purchase-ladder", svg: draw_ladder(&chart) })
}

/// A chance where there is little room.
fn short_chance(share: f64) -> String {
    if share > 0.99 {
        format!(">{}", percent(0.99, 0))
    } else if share < 0.01 {
        format!("<{}", percent(0.01, 0))
    } else {
        percent(share, 0)
    }
}
