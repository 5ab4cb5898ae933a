//! Sites by answers: a number a cell, a mark of how it stands to the fleet, a link to the site's page.

use super::around::Whole;
use crate::report::page::escape::html;
use crate::report::page::links::{Links, Target};
use crate::report::page::page_table::opened;
use crate::report::sites::{Answer, Site, Standing, headings, of_fleet};

/// Rows on the front page.
const MOST_SITES: usize = 30;

/// Those that stand out most, for the front page.
pub(super) fn matrix(whole: &Whole, links: Links) -> String {
    let shown = &whole.sites[..whole.sites.len().min(MOST_SITES)];
    let href = links.to(Target::Sites);
    let words = match whole.sites.len() - shown.len() {
        0 => format!(
            "Sites by answers, those that stand out most first (<a href=\"{href}\">to sort and filter</a>)"
        ),
        more => format!(
            "The {} sites that stand out most, by answers; <a href=\"{href}\">{more} more</a>",
            shown.len()
        ),
    };
    format!(
        "<h2>Where sites stand</h2>\n{}{}",
        table(whole, shown, links, "matrix", (3, &words)),
        key(whole)
    )
}

/// All sites on a page of their own.
pub(super) fn all_sites(whole: &Whole, links: Links, level: usize) -> String {
    let words = format!("{} sites, those that stand out most first", whole.sites.len());
    format!(
        "<h{level}>All sites by answers</h{level}>\n{}{}",
        table(whole, whole.sites, links, "matrix data", (level + 1, &words)),
        key(whole)
    )
}

/// What the marks mean, and how many of them chance sets.
fn key(whole: &Whole) -> String {
    let level = whole.parts.inputs.review.level;
    let share = crate::charts::number::percent(1.0 - level, 0);
    format!(
        "<p class=\"note\">▼ surely worse than the fleet, ▲ surely better: the whole interval lies on one side of the fleet's \
         value, as chance alone would have it for about {share} of cells. – too little is known. The net cost is that of the \
         site's dearest stage, and ▼ there says that it surely lies above zero. A change is marked where one could be \
         shown since, of first pass or another; doubts where there are any.</p>\n",
    )
}

fn table(
    whole: &Whole,
    sites: &[Site],
    links: Links,
    class: &str,
    (level, caption): (usize, &str),
) -> String {
    let review = whole.parts.inputs.review;
    if sites.is_empty() {
        return "<p class=\"empty\">No record names a site.</p>\n".to_owned();
    }
    let mut out = format!(
        "{}<thead><tr><th scope=\"col\">site</th>",
        opened(level, caption, "sites by answers", class)
    );
    for heading in headings(review) {
        out.push_str(&format!("<th scope=\"col\" class=\"number\">{}</th>", html(&heading)));
    }
    out.push_str(
        "</tr></thead>\n<tbody>\n<tr class=\"of-fleet\"><th scope=\"row\">the whole fleet</th>",
    );
    for answer in of_fleet(review) {
        let interval = match answer.interval.as_str() {
            "" => String::new(),
            interval => format!(" ({})", html(interval)),
        };
        out.push_str(&format!("<td class=\"number\">{}{interval}</td>", html(&answer.value)));
    }
    out.push_str("</tr>\n");
    for site in sites {
        let href = site.slug.as_deref().map(|slug| links.to(Target::Site(slug)));
        let name = linked(href.as_deref(), &html(&site.name));
        out.push_str(&format!("<tr><th scope=\"row\">{name}</th>"));
        for answer in &site.answers {
            out.push_str(&cell(answer, href.as_deref()));
        }
        out.push_str("</tr>\n");
    }
    out + "</tbody></table></div>\n"
}

fn cell(answer: &Answer, href: Option<&str>) -> String {
    let title = [&answer.interval, &answer.note].map(|part| html(part));
    let title: Vec<String> = title.into_iter().filter(|part| !part.is_empty()).collect();
    let (class, mark) = marked(answer.standing);
    let words = match mark {
        "" => String::new(),
        _ => format!("<span class=\"unseen\"> {}</span>", answer.stands()),
    };
    format!(
        "<td class=\"number {class}\" title=\"{}\">{}{mark}{words}</td>",
        title.join("; "),
        linked(href, &html(&answer.value))
    )
}

/// The class of a standing, and its mark, which stands beside words for those who do not see it.
pub(super) fn marked(standing: Standing) -> (&'static str, &'static str) {
    match standing {
        Standing::Worse => ("worse", "<span class=\"mark\" aria-hidden=\"true\">▼</span>"),
        Standing::Better => ("better", "<span class=\"mark\" aria-hidden=\"true\">▲</span>"),
        Standing::Alike => ("alike", ""),
        Standing::Untold => ("untold", ""),
    }
}

fn linked(href: Option<&str>, words: &str) -> String {
    match href {
        Some(href) => format!("<a href=\"{href}\">{words}</a>"),
        None => words.to_owned(),
    }
}
