//! One proposal on one page that prints: what, why, where, how sure, what it rests on, what if it is wrong.

use super::around::made_with;
use super::headlined::{caution, warned};
use crate::measures::Review;
use crate::measures::payback::{By, Quantity};
use crate::report::Inputs;
use crate::report::page::escape::html;
use crate::report::page::shell::Shell;
use crate::report::words::do_first::purchase_wrong_if;
use crate::report::words::months::looked_back;
use crate::report::words::number::{Amount, level};
use crate::report::words::purchase::{Purchase, chance, internal_rate, source_of};

/// The page of a single proposal.
pub(super) const NAME: &str = "case.html";

/// The page's bytes.
pub(super) fn case(inputs: &Inputs, one: &Purchase) -> Vec<u8> {
    let review = inputs.review;
    let own = &one.worth.own;
    let quarter = review.period.quarter.to_string();
    let text = |text: &Option<String>| html(text.as_deref().unwrap_or("–"));
    let amount = |quantity| {
        let row = one.row(quantity).filter(|row| row.estimate.is_some());
        row.map_or_else(|| "–".to_owned(), |row| html(&Amount::of(row).full(&review.currency)))
    };
    let in_words = |quantity, words: fn(f64) -> String| {
        let value = one.row(quantity).and_then(|row| row.estimate);
        value.map_or_else(|| "–".to_owned(), |value| html(&words(value)))
    };
    let part = |heading: &str, words: String| format!("<h2>{heading}</h2>\n<p>{words}</p>\n");
    let parts = [
        part(
            "What",
            format!(
                "{} for {} (all units, training included), working for {}: {}.",
                html(&one.units()),
                html(&one.price(review)),
                html(&one.months()),
                text(&own.what)
            ),
        ),
        part("Where", format!("{}.", text(&own.places))),
        part(
            "Why",
            format!(
                "It is expected to save {} a year before its running cost, and to avoid {} faults and {} of downtime \
                 a year. Over its life it is worth {} after its price.",
                amount(Quantity::Saving),
                amount(Quantity::FaultsAvoided),
                amount(Quantity::DowntimeAvoided),
                amount(Quantity::NetPresentValue)
            ),
        ),
        part(
            "How sure",
            format!(
                "Paying back within its life: {}. Paid back after: {}. Internal rate of a year: {}. It would be worth \
                 nothing if a unit cost {}. Ranges are {} intervals from records of {}.",
                in_words(Quantity::PaysBack, chance),
                amount(Quantity::PaybackMonth),
                in_words(Quantity::InternalRate, internal_rate),
                amount(Quantity::BreakEvenPrice),
                html(&level(review.level)),
                html(&looked_back(review))
            ),
        ),
        format!("<h2>What it rests on</h2>\n<ul>\n{}</ul>\n", rests_on(review, one)),
        part(
            "If it is wrong",
            format!(
                "{} Then the price is spent, and what running it and looking more costs for as long as that is done.",
                html(&purchase_wrong_if(review, one))
            ),
        ),
        format!("<h2>Before anybody opens a connection</h2>\n{}", caution()),
    ];
    let body = format!(
        "<header class=\"masthead\">\n<p class=\"kind\">{}, {}: a case for whoever signs the money</p>\n<h1>{}</h1>\n\
         </header>\n{}<p><b>{}</b></p>\n{}",
        html(&review.fleet),
        html(&quarter),
        html(one.name),
        warned(review),
        html(&one.sentence(review)),
        parts.concat()
    );
    let footer = format!("<p>{}</p>\n", made_with(inputs));
    let title = format!("{}: {} {quarter}", one.name, review.fleet);
    Shell { title, kind: "case", contents: String::new(), body, footer }.page()
}

/// Each number that it rests on, with its source and what the proposal is worth at either end, as items of a list.
fn rests_on(review: &Review, one: &Purchase) -> String {
    // A worth is an estimate: no cents of it are known.
    let worth = |money| Amount::money(money).short(&review.currency);
    let inputs = one.rows(By::ProposalInput, Quantity::Tornado);
    inputs
        .map(|row| {
            let ends = format!(
                "{} ({}): worth {} at its low end, {} at its high end",
                row.own.input.as_deref().unwrap_or_default(),
                source_of(row),
                worth(row.own.worth_at_low),
                worth(row.own.worth_at_high)
            );
            format!("<li>{}</li>\n", html(&ends))
        })
        .collect()
}
