//! The purchase case alone: a page with its one section, its pictures and its table.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::escape::html;
use super::html::{STYLE, filled, warned};
use crate::measures::Review;
use crate::measures::payback::{By, Quantity};
use crate::report::error::ReportError;
use crate::report::files::charts;
use crate::report::files::place::{Content, place};
use crate::report::files::{dictionary, run, tables};
use crate::report::questions::payback::section as payback_section;
use crate::report::questions::worklist::CAUTION;
use crate::report::words::do_first::purchase_wrong_if;
use crate::report::words::months::looked_back;
use crate::report::words::number::{Amount, level};
use crate::report::words::purchase::{Purchase, answer, purchases, source_of, sum};
use crate::report::{Inputs, Written};

const TEMPLATE: &str = include_str!("payback.html");

/// The page of a single proposal.
const CASE: &str = "case.html";
const CASE_TEMPLATE: &str = include_str!("case.html");

/// One proposal on one page that prints: what, why, where, how sure, what it rests on, what if it is wrong.
fn case(review: &Review, one: &Purchase) -> String {
    let own = &one.worth.own;
    let text = |text: &Option<String>| html(text.as_deref().unwrap_or("–"));
    let amount = |quantity| {
        let row = one.row(quantity).filter(|row| row.estimate.is_some());
        row.map_or_else(|| "–".to_owned(), |row| html(&Amount::of(row).full(&review.currency)))
    };
    let rests_on: String = one
        .rows(By::ProposalInput, Quantity::Tornado)
        .map(|row| {
            let input = row.own.input.as_deref().unwrap_or_default();
            let worth = |money| sum(review, money);
            let ends = format!(
                "{input} ({}): worth {} at its low end, {} at its high end",
                source_of(row),
                worth(row.own.worth_at_low),
                worth(row.own.worth_at_high)
            );
            format!("<li>{}</li>\n", html(&ends))
        })
        .collect();
    let values = [
        ("style", STYLE.to_owned()),
        ("name", html(one.name)),
        ("fleet", html(&review.fleet)),
        ("quarter", html(&review.period.quarter.to_string())),
        ("look_back", html(&looked_back(review))),
        ("level", html(&level(review.level))),
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
        ("chance", amount(Quantity::PaysBack)),
        ("month", amount(Quantity::PaybackMonth)),
        ("rate", amount(Quantity::InternalRate)),
        ("break_even", amount(Quantity::BreakEvenPrice)),
        ("rests_on", rests_on),
        ("wrong_if", html(&purchase_wrong_if(review, one))),
        ("caution", html(CAUTION)),
        ("version", html(env!("CARGO_PKG_VERSION"))),
    ];
    filled(CASE_TEMPLATE, &values)
}

/// Writes the purchase case of a review to `folder`, in place of an older one; missing parents are made.
///
/// # Errors
/// As [`crate::report::write`]. What was in `folder` stays then as it was.
pub fn write_payback(inputs: &Inputs, folder: &Path) -> Result<Written, ReportError> {
    let review = inputs.review;
    let section = payback_section(review);
    let mut files: Vec<Content> = vec![(run::NAME.to_owned(), run::run(inputs)?)];
    files.extend(charts::files(section.pictures.iter().collect())?);
    let table = &review.payback;
    files.extend(tables::files(table, &tables::columns(table, review), review)?);
    files.extend(dictionary::files(&[table]));
    let sentence = |line: String| format!("<li>{}</li>\n", html(&line));
    let sentences = purchases(review).iter().map(|own| sentence(own.sentence(review))).collect();
    let values = [
        ("style", STYLE.to_owned()),
        ("fleet", html(&review.fleet)),
        ("quarter", html(&review.period.quarter.to_string())),
        ("look_back", html(&looked_back(review))),
        ("level", html(&level(review.level))),
        ("answer", html(&answer(review))),
        ("sentences", sentences),
        ("made_without", warned(review)),
        ("section", section.html(1)),
        ("version", html(env!("CARGO_PKG_VERSION"))),
        ("settings", html(inputs.settings_hash.get(..12).unwrap_or(&inputs.settings_hash))),
        ("seed", inputs.seed.to_string()),
    ];
    files.push(("payback.html".to_owned(), filled(TEMPLATE, &values).into_bytes()));
    if let [one] = &purchases(review)[..] {
        files.push((CASE.to_owned(), case(review, one).into_bytes()));
    }
    let files: Vec<Content> = files.into_iter().collect::<BTreeMap<_, _>>().into_iter().collect();
    place(&files, folder)?;
    let names = files.into_iter().map(|(name, _)| PathBuf::from(name)).collect();
    Ok(Written { folder: folder.to_owned(), files: names, findings: vec![section.finding] })
}
