//! What to do first: the decisions that are worth most, then the work that is expected to save most.

use super::around::Whole;
use super::headlined::caution;
use crate::measures::{payback, skipped_cost, worklist};
use crate::report::page::escape::html;
use crate::report::page::links::{Links, Target};
use crate::report::page::page_table::opened;
use crate::report::words::do_first::{Advice, Decision, decisions as decided, is_any_worth, work};
use crate::report::words::purchase::purchases;

/// Both lists, as HTML, with the caution.
pub(super) fn decisions(whole: &Whole, links: Links) -> String {
    let review = whole.parts.inputs.review;
    let mut out = "<h2>Do first</h2>\n".to_owned();
    let decided = decided(review);
    if !decided.is_empty() {
        let items: String = decided.iter().map(item).collect();
        let (question, all) = match purchases(review).is_empty() {
            true => (skipped_cost::NAME, "all places"),
            false => (payback::NAME, "all proposals"),
        };
        let href = links.to(Target::Question(question));
        out.push_str(&format!(
            "<p>Decisions, what is worth most first (<a href=\"{href}\">{all}</a>):</p>\n<ul class=\"decided\">\n{items}</ul>\n"
        ));
    }
    let work = work(review);
    let href = links.to(Target::Question(worklist::NAME));
    if work.is_empty() {
        out.push_str(&match is_any_worth(review) {
            true => format!(
                "<p>Nothing is worth going there for alone; what to do when somebody is there anyhow: \
                 <a href=\"{href}\">worklist</a>.</p>\n"
            ),
            false => "<p>For nothing in the worklist can a saving be told that may be ranked.</p>\n"
                .to_owned(),
        });
    } else {
        out.push_str(&format!(
            "{}<thead><tr><th scope=\"col\">where</th><th scope=\"col\">what to do</th><th scope=\"col\">why</th>\
             <th scope=\"col\">expected saving after the price of the work</th></tr></thead>\n<tbody>\n",
            opened(
                3,
                &format!("Work that saves most, of the <a href=\"{href}\">worklist</a>"),
                "work that saves most",
                "work"
            )
        ));
        for advice in &work {
            out.push_str(&row(whole, links, advice));
        }
        out.push_str("</tbody></table></div>\n");
    }
    if !(decided.is_empty() && work.is_empty()) {
        out.push_str(&caution());
    }
    out
}

/// A decision: its price, what it is worth, how sure that is, what would prove it wrong.
fn item(decision: &Decision) -> String {
    format!("<li><b>{}:</b> {}</li>\n", html(&decision.name), html(&decision.words()))
}

fn row(whole: &Whole, links: Links, advice: &Advice) -> String {
    let slug = advice.site.as_deref().and_then(|site| whole.slug_of(site));
    let place = html(&advice.place);
    let place = match slug {
        Some(slug) => format!("<a href=\"{}\">{place}</a>", links.to(Target::Site(slug))),
        None => place,
    };
    format!(
        "<tr><th scope=\"row\">{place}</th><td>{}</td><td>{}</td><td>{}</td></tr>\n",
        html(&advice.what),
        html(&advice.reason),
        html(&advice.saving)
    )
}
