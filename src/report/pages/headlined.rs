//! What stands between the heading of a question's page and its chart: the number that headlines, what was not read, the
//! caution where work is advised.

use super::around::Whole;
use crate::measures::{Review, carriers, fault_rates, first_pass, skipped_cost, worklist};
use crate::report::page::escape::html;
use crate::report::questions::intake::made_without;
use crate::report::words::caution::CAUTION;
use crate::report::words::headline::Headline;
use crate::report::words::open::still_open;

/// Questions whose answers advise work at connections.
const ADVISING: [&str; 2] = [worklist::NAME, carriers::NAME];

/// All of it, as HTML.
pub(super) fn lead(whole: &Whole, question: &str) -> String {
    let mut out = warned(whole.parts.inputs.review);
    let own = whole.parts.headlines.iter().filter(|headline| measure(headline) == question);
    out.extend(own.map(number));
    if ADVISING.contains(&question) {
        out.push_str(&caution());
    }
    out
}

/// The table that a headline is from.
fn measure(headline: &Headline) -> &'static str {
    [
        (first_pass::Quantity::Clean.word(), first_pass::NAME),
        (fault_rates::Quantity::PerMonths.word(), fault_rates::NAME),
        (skipped_cost::Quantity::NetSaving.word(), skipped_cost::NAME),
    ]
    .into_iter()
    .find(|(name, _)| *name == headline.name)
    .map_or("", |(_, table)| table)
}

fn number(headline: &Headline) -> String {
    let notes: String =
        headline.notes.iter().map(|note| format!("<p>{}</p>", html(note))).collect();
    format!(
        "<div class=\"strip\"><p class=\"value\">{}</p><p class=\"interval\">{}</p><p class=\"what\">{}</p>{notes}</div>\n",
        html(&headline.value),
        html(&headline.interval),
        html(headline.words)
    )
}

/// The caution.
pub(super) fn caution() -> String {
    format!("<div class=\"caution\" role=\"note\"><p><b>Caution.</b> {}</p></div>\n", html(CAUTION))
}

/// What a page says first of a review that some exports are missing from, or whose settings rest on guesses.
pub(super) fn warned(review: &Review) -> String {
    let boxed = |head: &str, said: String| {
        format!("<div class=\"box\"><p><b>{head}.</b> {}</p></div>\n", html(&said))
    };
    let unread = made_without(review).map(|said| boxed("Not whole", said));
    let open = still_open(review).map(|said| boxed("Not answered", said));
    unread.into_iter().chain(open).collect()
}
