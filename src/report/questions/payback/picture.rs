//! Purchases: cash over the months, what each depends on, what a budget buys.

use super::tables::input_end;
use crate::charts::number::{fixed, percent};
use crate::charts::{
    CashFan, CashPanel, CashPoint, Ladder, LadderStep, Reference, Tornado, TornadoBar,
    TornadoPanel, cash_fan, ladder as draw_ladder, tornado,
};
use crate::measures::payback::{By, InputUnit, Quantity, Row};
use crate::measures::results::Money;
use crate::measures::{Review, Unit};
use crate::report::page::picture::{Picture, frame, mark};
use crate::report::page::section::counted;
use crate::report::words::number::{Amount, Scale, major};
use crate::report::words::purchase::{
    Purchase, answer, chance, ladder, purchases, set_of, source_of, sum,
};

/// Proposals that have a value.
fn valued(review: &Review) -> Vec<Purchase<'_>> {
    purchases(review).into_iter().filter(|one| one.worth.estimate.is_some()).collect()
}

/// Cash over the months of every proposal.
pub(in crate::report) fn cash_fans(review: &Review) -> Option<Picture> {
    let all = valued(review);
    let first = all.first()?;
    let title = match first.row(Quantity::PaybackMonth).filter(|_| first.worth.is_firm()) {
        Some(row) if row.estimate.is_some() => format!(
            "{}: paid back after {}{}",
            first.name,
            counted(row.estimate.unwrap_or(0.0).round(), "month", "months"),
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
        panels: all.iter().map(|one| panel(review, one)).collect(),
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

fn panel(review: &Review, purchase: &Purchase) -> CashPanel {
    let point = |row: &Row| {
        Some(CashPoint {
            month: f64::from(row.own.month?),
            value: major(row.estimate?),
            low: row.low.map(major),
            high: row.high.map(major),
        })
    };
    let share = purchase.row(Quantity::PaysBack).and_then(|row| row.estimate).unwrap_or(0.0);
    let month = purchase.row(Quantity::PaybackMonth);
    let mut payback = month.map(mark).unwrap_or_default();
    // Some draws are never paid back: the line goes on to the end of the life, and beyond.
    if payback.value.is_some() && payback.high.is_none() {
        payback.high = Some(f64::MAX);
    }
    CashPanel {
        title: purchase.name.to_owned(),
        note: format!(
            "{}, worth {} after it; {} of paying back in {}",
            purchase.price(review),
            Amount::of(purchase.worth).full(&review.currency),
            chance(share),
            purchase.months()
        ),
        points: purchase.rows(By::ProposalMonth, Quantity::Cash).filter_map(point).collect(),
        payback,
        look: mark(purchase.worth).look,
    }
}

/// What each proposal depends on.
pub(in crate::report) fn purchase_tornado(review: &Review) -> Option<Picture> {
    let all = valued(review);
    let panels: Vec<TornadoPanel> = all
        .iter()
        .map(|one| TornadoPanel {
            title: one.name.to_owned(),
            middle: one
                .rows(By::ProposalInput, Quantity::Tornado)
                .next()
                .and_then(|row| row.estimate)
                .map(major),
            bars: one
                .rows(By::ProposalInput, Quantity::Tornado)
                .map(|row| bar(review, row))
                .collect(),
        })
        .filter(|panel| !panel.bars.is_empty())
        .collect();
    let widest = all.iter().find_map(|one| {
        let row = one.rows(By::ProposalInput, Quantity::Tornado).next()?;
        let amount = Amount { value: None, ..Amount::of(row) };
        let scale = Scale::for_all([&amount], amount.unit, &review.currency);
        let ends = amount.interval_on(&scale);
        Some(format!(
            "{}: most depends on {}: {ends} {}",
            one.name,
            row.own.input.as_deref().unwrap_or_default(),
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

fn bar(review: &Review, row: &Row) -> TornadoBar {
    // Ends of money are rounded here; the table has them to the cent.
    let end = |end: Option<f64>| match row.own.input_unit {
        Some(InputUnit::Money) => Amount::plain(end, Unit::Money).short(&review.currency),
        Some(InputUnit::Share) | None => input_end(row, end),
    };
    TornadoBar {
        label: row.own.input.clone().unwrap_or_default(),
        at_low: in_major(row.own.worth_at_low),
        at_high: in_major(row.own.worth_at_high),
        texts: vec![end(row.own.input_low), end(row.own.input_high), source_of(row)],
    }
}

fn in_major(money: Option<Money>) -> Option<f64> {
    money.map(|Money(minor)| major(minor as f64))
}

/// What every sum buys.
pub(in crate::report) fn purchase_ladder(review: &Review) -> Option<Picture> {
    let rows = ladder(review);
    if rows.is_empty() {
        return None;
    }
    let amounts: Vec<Amount> = rows.iter().map(Amount::of).collect();
    let scale = Scale::for_all(&amounts, Unit::Money, &review.currency);
    let step = |(row, amount): (&&Row, &Amount)| {
        Some(LadderStep {
            label: set_of(row),
            cost: in_major(row.own.price)?,
            worth: row.estimate.map(major)?,
            low: row.low.map(major),
            high: row.high.map(major),
            text: format!(
                "{}: worth {} ({}) {}, {}",
                sum(review, row.own.price),
                amount.value_on(&scale),
                amount.interval_on(&scale),
                scale.unit,
                row.own.probability.map_or_else(|| "–".to_owned(), short_chance),
            ),
            chosen: row.own.chosen == Some(true),
        })
    };
    let budget = rows.first().and_then(|row| row.own.budget);
    let caption = "The best set of proposals for every sum, what one saves not counted again for another. Band: interval. \
                   At the right: price, worth with its interval, and the share of draws in which the set pays. Ringed: the \
                   choice for the budget. Proposals that a flag keeps out of rankings are in no set.";
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
        budget: in_major(budget)
            .map(|value| Reference { value, label: format!("budget {}", sum(review, budget)) }),
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
