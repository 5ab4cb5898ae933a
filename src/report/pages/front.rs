//! The front page: what a manager forwards as it is. Six sentences, the doubts, one chart, what to do first with its
//! caution, sites by answers; two printed pages.

use super::around::Whole;
use super::decisions::decisions;
use super::headlined::warned;
use super::matrix::matrix;
use crate::measures::trust;
use crate::report::page::escape::html;
use crate::report::page::links::{Links, Target};
use crate::report::page::section::{Section, days};
use crate::report::questions::intake::sentence as rows_sentence;
use crate::report::questions::skipped_cost::no_picture;
use crate::report::questions::trust::doubts;
use crate::report::words::months::looked_back;
use crate::report::words::number::level;
use crate::report::words::unanswered::lacking;

/// Doubts in the box; the worst one stands among the sentences.
const MOST_DOUBTS: usize = 4;

/// The page below its head, as HTML.
pub(super) fn front(whole: &Whole, links: Links) -> String {
    let review = whole.parts.inputs.review;
    let doubts: Vec<String> = doubts(review).into_iter().map(|doubt| doubt.sentence).collect();
    let items: String =
        whole.parts.short.iter().map(|said| format!("<li>{}</li>\n", html(said))).collect();
    let chart = whole.parts.first.map_or_else(
        || format!("<p class=\"empty\">{}</p>\n", html(&no_picture(review))),
        |picture| picture.html(links, 2),
    );
    format!(
        "<header class=\"masthead\">\n<p class=\"kind\">Fibre connector review</p>\n<h1>{}, {}</h1>\n\
         <p class=\"span\">{}; skipped looks and cleaning cycles over {}; intervals at {}.</p>\n</header>\n\
         {}{}<h2>In short</h2>\n<ol class=\"short\">\n{items}</ol>\n{}{chart}{}{}",
        html(&review.fleet),
        html(&review.period.quarter.to_string()),
        html(&days(review)),
        html(&looked_back(review)),
        html(&level(review.level)),
        warned(review),
        unanswered(whole, links),
        doubted(whole, links, &doubts),
        decisions(whole, links),
        matrix(whole, links),
    )
}

/// The doubts after the worst, and, where there is room, how much of what was read stands.
fn doubted(whole: &Whole, links: Links, doubts: &[String]) -> String {
    let inputs = whole.parts.inputs;
    let rows = [rows_sentence(inputs.accounts)];
    let said = doubts.iter().skip(1).chain(&rows).take(MOST_DOUBTS);
    let items: String = said.map(|said| format!("<li>{}</li>\n", html(said))).collect();
    let href = links.to(Target::Question(trust::NAME));
    format!(
        "<aside class=\"box\" aria-label=\"Doubts\">\n<h2>How far to trust it</h2>\n<ul>\n{items}</ul>\n\
         <p><a href=\"{href}\">More on this</a></p></aside>\n"
    )
}

/// The questions that the records cannot answer, each with a link to its page.
fn unanswered(whole: &Whole, links: Links) -> String {
    let review = whole.parts.inputs.review;
    let sections = whole.parts.sections.iter().zip(1..);
    let without = sections.filter(|(section, _)| lacking(review, section.id).next().is_some());
    let item = |(section, number): (&Section, usize)| {
        let href = links.to(Target::Question(section.id));
        format!("<a href=\"{href}\">{number} · {}</a>", html(section.question))
    };
    let items: Vec<String> = without.map(item).collect();
    if items.is_empty() {
        return String::new();
    }
    format!("<div class=\"box\"><p><b>Without an answer.</b> {}</p></div>\n", items.join(" "))
}
