//! One proposal on one page that prints: what, where, why, how sure, what it rests on, what if it is wrong.

use super::escape::html;
use super::html::in_shell;
use crate::measures::payback::{By, Quantity, Row};
use crate::report::Inputs;
use crate::report::questions::worklist::CAUTION;
use crate::report::words::do_first::purchase_wrong_if;
use crate::report::words::number::Amount;
use crate::report::words::purchase::{Purchase, chance, internal_rate, source_of};

const TEMPLATE: &str = include_str!("case.html");

/// The page's bytes.
pub(in crate::report) fn case(inputs: &Inputs, one: &Purchase) -> Vec<u8> {
    let review = inputs.review;
    let own = &one.worth.own;
    let text = |text: &Option<String>| html(text.as_deref().unwrap_or("–"));
    let amount = |quantity| {
        let row = one.row(quantity).filter(|row| row.estimate.is_some());
        row.map_or_else(|| "–".to_owned(), |row| html(&Amount::of(row).full(&review.currency)))
    };
    let in_words = |quantity, words: fn(f64) -> String| {
        let value = one.row(quantity).and_then(|row| row.estimate);
        value.map_or_else(|| "–".to_owned(), |value| html(&words(value)))
    };
    // A worth is an estimate: no cents of it are known.
    let worth = |money| Amount::money(money).short(&review.currency);
    let input = |row: &Row| {
        let ends = format!(
            "{} ({}): worth {} at its low end, {} at its high end",
            row.own.input.as_deref().unwrap_or_default(),
            source_of(row),
            worth(row.own.worth_at_low),
            worth(row.own.worth_at_high)
        );
        format!("<li>{}</li>\n", html(&ends))
    };
    let values = vec![
        ("name", html(one.name)),
        ("what", text(&own.what)),
        ("units", html(&one.units())),
        ("price", html(&one.price(review))),
        ("months", html(&one.months())),
        ("where", text(&own.places)),
        ("sentence", html(&one.sentence(review))),
        ("saving", amount(Quantity::Saving)),
        ("faults", amount(Quantity::FaultsAvoided)),
        ("downtime", amount(Quantity::DowntimeAvoided)),
        ("worth", amount(Quantity::NetPresentValue)),
        ("chance", in_words(Quantity::PaysBack, chance)),
        ("month", amount(Quantity::PaybackMonth)),
        ("rate", in_words(Quantity::InternalRate, internal_rate)),
        ("break_even", amount(Quantity::BreakEvenPrice)),
        ("rests_on", one.rows(By::ProposalInput, Quantity::Tornado).map(input).collect()),
        ("wrong_if", html(&purchase_wrong_if(review, one))),
        ("caution", html(CAUTION)),
    ];
    in_shell(inputs, &format!("{}: {}", one.name, review.fleet), TEMPLATE, values)
}
