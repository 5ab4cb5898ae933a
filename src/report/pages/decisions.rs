//! What to do first: the purchases that are worth most, then the work that is expected to save most.

use super::around::Whole;
use super::headlined::caution;
use crate::measures::{payback, worklist};
use crate::report::page::escape::html;
use crate::report::page::links::{Links, Target};
use crate::report::page::page_table::opened;
use crate::report::words::do_first::{Advice, do_first};
use crate::report::words::number::Amount;
use crate::report::words::purchase::{Purchase, purchases};

/// Decisions on the front page.
const MOST_DECISIONS: usize = 3;

/// Both lists, as HTML.
pub(super) fn decisions(whole: &Whole, links: Links) -> String {
    let review = whole.parts.inputs.review;
    let mut out = "<h2>Do first</h2>\n".to_owned();
    let all = purchases(review);
    let gains = |one: &&Purchase| {
        one.worth.is_firm() && one.worth.estimate.is_some_and(|worth| worth > 0.0)
    };
    let named: Vec<&Purchase> = all.iter().filter(gains).take(MOST_DECISIONS).collect();
    if !named.is_empty() {
        let item = |one: &Purchase| {
            format!(
                "<li><b>Buy {}</b> for {}: worth {} after the price, over {} months.</li>\n",
                html(one.name),
                html(&one.price(review)),
                html(&Amount::of(one.worth).full(&review.currency)),
                html(&one.life()),
            )
        };
        let items: String = named.into_iter().map(item).collect();
        let href = links.to(Target::Question(payback::NAME));
        out.push_str(&format!(
            "<p>Decisions, the surest gain first (<a href=\"{href}\">all proposals</a>):</p>\n<ul class=\"decided\">\n{items}</ul>\n"
        ));
    }
    let advices = do_first(review);
    if advices.is_empty() {
        out.push_str(
            "<p>For nothing in the worklist can a saving be told that may be ranked.</p>\n",
        );
        return out;
    }
    let href = links.to(Target::Question(worklist::NAME));
    out.push_str(&format!(
        "{}<thead><tr><th scope=\"col\">where</th><th scope=\"col\">what to do</th><th scope=\"col\">why</th>\
         <th scope=\"col\">expected saving</th></tr></thead>\n<tbody>\n",
        opened(3, &format!("Work that saves most, of the <a href=\"{href}\">worklist</a>"), "work that saves most", "work")
    ));
    for advice in &advices {
        out.push_str(&row(whole, links, advice));
    }
    out.push_str("</tbody></table></div>\n");
    out.push_str(&caution());
    out
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
