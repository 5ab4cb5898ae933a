//! `report.html`: one file, pictures inside, no network, no script. The first page says what to do; a section a question
//! follows.

use super::escape::html;
use super::picture::Picture;
use super::section::{Section, days};
use crate::measures::Review;
use crate::report::Inputs;
use crate::report::questions::intake::{made_without, sentence as trust_sentence};
use crate::report::questions::skipped_cost::no_picture;
use crate::report::questions::trust::doubts;
use crate::report::words::do_first::{Advice, do_first};
use crate::report::words::headline::Headline;
use crate::report::words::months::looked_back;
use crate::report::words::number::level;
use crate::report::words::unanswered::lacking;

const SHELL: &str = include_str!("shell.html");
const STYLE: &str = include_str!("page.css");
const TEMPLATE: &str = include_str!("page.html");

/// The page's bytes.
pub(in crate::report) fn page(
    inputs: &Inputs,
    headlines: &[Headline],
    first: Option<&Picture>,
    sections: &[Section],
) -> Vec<u8> {
    let review = inputs.review;
    let numbers: String = headlines.iter().map(number).collect();
    let chart = first.map_or_else(
        || format!("<p class=\"empty\">{}</p>", html(&no_picture(review))),
        Picture::html,
    );
    let title = format!("{}: connector review {}", review.fleet, review.period.quarter);
    let own = vec![
        ("days", html(&days(review))),
        ("headlines", numbers),
        ("chart", chart),
        ("do_first", advices(review)),
        ("made_without", warned(review)),
        ("unanswered", unanswered(review, sections)),
        ("trust", trusted(inputs)),
        ("contents", contents(sections)),
        ("sections", body(sections)),
    ];
    in_shell(inputs, &title, TEMPLATE, own)
}

/// A whole page: its template in the shell that all pages share, filled with its own values and those that every page
/// may give.
pub(in crate::report) fn in_shell(
    inputs: &Inputs,
    title: &str,
    template: &str,
    own: Vec<(&str, String)>,
) -> Vec<u8> {
    let review = inputs.review;
    let mut values = own;
    values.extend([
        ("fleet", html(&review.fleet)),
        ("quarter", html(&review.period.quarter.to_string())),
        ("look_back", html(&looked_back(review))),
        ("level", html(&level(review.level))),
        ("version", html(env!("CARGO_PKG_VERSION"))),
        ("settings", html(inputs.settings_hash.get(..12).unwrap_or(&inputs.settings_hash))),
        ("seed", inputs.seed.to_string()),
    ]);
    let main = filled(template, &values);
    filled(SHELL, &[("title", html(title)), ("style", STYLE.to_owned()), ("main", main)])
        .into_bytes()
}

/// What a page says first of a review that some exports are missing from.
pub(in crate::report) fn warned(review: &Review) -> String {
    let said = made_without(review)
        .map(|said| format!("<p class=\"trusted\"><b>Not whole.</b> {}</p>\n", html(&said)));
    said.unwrap_or_default()
}

/// Most sentences of how far to trust the page.
const MOST_DOUBTS: usize = 4;

/// The worst doubts, and, where there is room, how much of what was read stands: items of a list.
fn trusted(inputs: &Inputs) -> String {
    let doubts = doubts(inputs.review).into_iter().map(|doubt| doubt.sentence);
    let sentences = doubts.chain([trust_sentence(inputs.accounts)]).take(MOST_DOUBTS);
    sentences.map(|sentence| format!("<li>{}</li>", html(&sentence))).collect()
}

/// The questions that the records cannot answer, each with a link to its section.
fn unanswered(review: &Review, sections: &[Section]) -> String {
    let lacking = sections
        .iter()
        .zip(1..)
        .filter(|(section, _)| lacking(review, section.id).next().is_some());
    let links: Vec<String> = lacking
        .map(|(section, number)| {
            format!("<a href=\"#{}\">{number} · {}</a>", section.id, html(section.question))
        })
        .collect();
    if links.is_empty() {
        return String::new();
    }
    format!("<p class=\"trusted\"><b>Without an answer.</b> {}</p>\n", links.join(" "))
}

fn body(sections: &[Section]) -> String {
    sections.iter().zip(1..).map(|(section, number)| section.html(number)).collect()
}

fn contents(sections: &[Section]) -> String {
    let item = |(section, number): (&Section, usize)| {
        let question = html(section.question);
        format!("<li><a href=\"#{}\">{number} · {question}</a></li>\n", section.id)
    };
    sections.iter().zip(1..).map(item).collect()
}

fn number(headline: &Headline) -> String {
    let notes: String =
        headline.notes.iter().map(|note| format!("<p>{}</p>", html(note))).collect();
    format!(
        "<div class=\"headline\"><p class=\"value\">{}</p><p class=\"interval\">{}</p><p class=\"what\">{}</p>{notes}</div>\n",
        html(&headline.value),
        html(&headline.interval),
        html(headline.words)
    )
}

fn advices(review: &Review) -> String {
    let item = |advice: &Advice| {
        format!("<li><b>{}:</b> {}</li>\n", html(&advice.place), html(&advice.words))
    };
    let advices = do_first(review);
    if !advices.is_empty() {
        return format!("<ol>\n{}</ol>", advices.iter().map(item).collect::<String>());
    }
    "<p>For nothing in the worklist can a saving be told that may be ranked.</p>".to_owned()
}

/// The template with each `{{name}}` replaced once: what is filled in is never read again.
fn filled(template: &str, values: &[(&str, String)]) -> String {
    let mut out = String::with_capacity(template.len());
    let mut rest = template;
    while let Some((before, after)) = rest.split_once("{{") {
        out.push_str(before);
        let Some((name, after)) = after.split_once("}}") else {
            out.push_str("{{");
            rest = after;
            continue;
        };
        let value = values.iter().find(|(known, _)| *known == name);
        out.push_str(value.map_or("", |(_, value)| value));
        rest = after;
    }
    out.push_str(rest);
    out
}
