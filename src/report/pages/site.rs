//! The page of a site: every answer against the fleet, what to do there with boxes to tick, its exports.

use super::around::Whole;
use super::headlined::caution;
use super::matrix::marked;
use super::site_tables::{by_stage, changed, exports, refused, work};
use crate::measures::{changes, coverage, fault_rates, first_pass, skipped_cost, trust};
use crate::report::page::escape::html;
use crate::report::page::links::{Links, Target};
use crate::report::page::page_table::opened;
use crate::report::page::section::folded;
use crate::report::sites::{Answer, Site, Standing, doubts, headings, of_fleet};
use crate::report::words::number::level as level_words;

/// The page below its head, as HTML.
pub(super) fn site(whole: &Whole, site: &Site, links: Links, level: usize) -> String {
    let inputs = whole.parts.inputs;
    let review = inputs.review;
    let below = level + 1;
    let mut out = format!(
        "<h{level}><span class=\"asked\">Site</span> <span class=\"answer\">{}: {}</span></h{level}>\n",
        html(&site.name),
        html(&stands(site))
    );
    out.push_str(&answered(whole, site, links, below));
    out.push_str(&format!("<h{below}>What to do here</h{below}>\n"));
    match work(review, &site.name, below + 1) {
        Some(table) => {
            out.push_str(&caution());
            out.push_str(&table);
        }
        None => out.push_str(
            "<p>Nothing of this site is on the worklist, which holds the first rows of the whole fleet.</p>\n",
        ),
    }
    let stages = by_stage(review, &site.name);
    if !stages.rows.is_empty() {
        out.push_str(&stages.html(links, below));
    }
    let changes = changed(review, &site.name);
    out.push_str(&folded("Changes", 1, below, &changes.html(links, below + 1)));
    let said: String = doubts(review, &site.name)
        .iter()
        .map(|said| format!("<li>{}</li>\n", html(said)))
        .collect();
    let said = if said.is_empty() {
        "<p>Nothing speaks against its records but what holds for the whole fleet.</p>\n".to_owned()
    } else {
        format!("<ul>\n{said}</ul>\n")
    };
    let trust = links.to(Target::Question(trust::NAME));
    out.push_str(&format!(
        "<h{below}>Doubts about its records</h{below}>\n{said}<p class=\"files\"><a href=\"{trust}\">Doubts about the whole \
         fleet's records</a></p>\n<h{below}>Its exports</h{below}>\n"
    ));
    let files = exports(inputs, &site.name);
    if files.rows.is_empty() {
        out.push_str(
            "<p>Which exports hold its records alone cannot be told from their names.</p>\n",
        );
    } else {
        out.push_str(
            "<p>Exports of the sources that name end faces of this site; some hold other sites' records too.</p>\n",
        );
        out.push_str(&files.html(links, below + 1));
        let refused = refused(inputs, &site.name);
        out.push_str(&refused.html(links, below + 1));
    }
    out
}

/// "worse than the fleet in skipped looks; skipped looks surely cost more than looking would have".
fn stands(site: &Site) -> String {
    const COMPARED: [(&str, &str); 3] = [
        (first_pass::NAME, "first pass"),
        (coverage::NAME, "skipped looks"),
        (fault_rates::NAME, "linked faults"),
    ];
    let of = |question: &str, standing| {
        site.answers.iter().any(|own| own.question == question && own.standing == standing)
    };
    let compared = [(Standing::Worse, "worse"), (Standing::Better, "better")];
    let mut said: Vec<String> = Vec::new();
    for (standing, word) in compared {
        let names = COMPARED.into_iter().filter(|(question, _)| of(question, standing));
        let names: Vec<&str> = names.map(|(_, name)| name).collect();
        if !names.is_empty() {
            said.push(format!("{word} than the fleet in {}", names.join(", ")));
        }
    }
    let others = [
        (
            skipped_cost::NAME,
            Standing::Worse,
            "skipped looks surely cost more than looking would have",
        ),
        (
            skipped_cost::NAME,
            Standing::Better,
            "looking would surely have cost more than skipped looks did",
        ),
        (changes::NAME, Standing::Worse, "something got worse since the quarter before"),
        (changes::NAME, Standing::Better, "something got better since the quarter before"),
        (trust::NAME, Standing::Worse, "its records are doubted"),
    ];
    let others = others.into_iter().filter(|(question, standing, _)| of(question, *standing));
    said.extend(others.map(|(_, _, words)| words.to_owned()));
    if !said.is_empty() {
        return said.join("; ");
    }
    match COMPARED.into_iter().all(|(question, _)| of(question, Standing::Untold)) {
        true => "too little is known to compare it".to_owned(),
        false => "in nothing surely apart from the fleet".to_owned(),
    }
}

/// All answers beside the fleet's.
fn answered(whole: &Whole, site: &Site, links: Links, level: usize) -> String {
    let review = whole.parts.inputs.review;
    let level_of = level_words(review.level);
    let mut out = format!(
        "{}<thead><tr><th scope=\"col\">answer</th>\
         <th scope=\"col\" class=\"number\">this site</th><th scope=\"col\" class=\"number\">{level_of} interval</th>\
         <th scope=\"col\" class=\"number\">the fleet</th><th scope=\"col\">stands</th><th scope=\"col\">note</th></tr></thead>\n<tbody>\n",
        opened(level, "Its answers beside the fleet's", "answers for this site", "matrix")
    );
    for ((answer, fleet), heading) in
        site.answers.iter().zip(of_fleet(review)).zip(headings(review))
    {
        out.push_str(&row(answer, &fleet, &heading, links));
    }
    out + "</tbody></table></div>\n"
}

fn row(answer: &Answer, fleet: &Answer, heading: &str, links: Links) -> String {
    let (class, mark) = marked(answer.standing);
    let of_fleet = if answer.question == trust::NAME { "" } else { &fleet.value };
    format!(
        "<tr><th scope=\"row\"><a href=\"{}\">{}</a></th><td class=\"number {class}\">{}</td><td class=\"number\">{}</td>\
         <td class=\"number\">{}</td><td class=\"{class}\">{}{mark}</td><td>{}</td></tr>\n",
        links.to(Target::Question(answer.question)),
        html(heading),
        html(&answer.value),
        html(&answer.interval),
        html(of_fleet),
        answer.stands(),
        html(&answer.note),
    )
}
