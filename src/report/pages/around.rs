//! What stands around a page: its title, the list of contents, the pages before and after, the foot.

use crate::report::Inputs;
use crate::report::page::escape::html;
use crate::report::page::links::{Links, Target};
use crate::report::page::picture::Picture;
use crate::report::page::section::Section;
use crate::report::sites::Site;
use crate::report::words::headline::Headline;

/// Everything that the pages are made of.
#[derive(Debug)]
pub(in crate::report) struct Parts<'a> {
    pub inputs: &'a Inputs<'a>,
    pub headlines: &'a [Headline],
    /// The chart of the front page.
    pub first: Option<&'a Picture>,
    pub sections: &'a [Section],
    /// The sentences of the front page.
    pub short: &'a [String],
}

/// The parts, and the sites in the order of their pages.
pub(super) struct Whole<'a> {
    pub parts: &'a Parts<'a>,
    pub sites: &'a [Site],
}

impl Whole<'_> {
    /// The site of a name, if it has a page.
    pub(super) fn slug_of(&self, name: &str) -> Option<&str> {
        let site: Option<&Site> = self.sites.iter().find(|site| site.name == name);
        site.and_then(|site| site.slug.as_deref())
    }
}

/// Sites that the list of contents names; more are on a page of their own.
const MOST_SITES: usize = 12;

/// The title in the browser: what the page is of, and of which review.
pub(super) fn title(whole: &Whole, target: Target) -> String {
    let review = whole.parts.inputs.review;
    let of = format!("{} {}", review.fleet, review.period.quarter);
    match target {
        Target::Front => format!("{of}: connector review"),
        _ => format!("{}: {of}", called(whole, target)),
    }
}

/// What a page is called in lists.
fn called(whole: &Whole, target: Target) -> String {
    match target {
        Target::Front => "Front page".to_owned(),
        Target::Question(id) => {
            let found = whole.parts.sections.iter().zip(1..).find(|(section, _)| section.id == id);
            found.map_or_else(String::new, |(section, number)| {
                format!("{number} · {}", section.question)
            })
        }
        Target::Sites => "All sites by answers".to_owned(),
        Target::Site(slug) => {
            let found = whole.sites.iter().find(|site| site.slug.as_deref() == Some(slug));
            found.map_or_else(String::new, |site| site.name.clone())
        }
        Target::Methods => "Methods and words".to_owned(),
    }
}

/// Every page, in the order in which they follow each other.
fn all<'a>(whole: &Whole<'a>) -> Vec<Target<'a>> {
    let questions = whole.parts.sections.iter().map(|section| Target::Question(section.id));
    let sites = whole.sites.iter().filter_map(|site| Some(Target::Site(site.slug.as_deref()?)));
    let mut all = vec![Target::Front];
    all.extend(questions);
    all.push(Target::Sites);
    all.extend(sites);
    all.push(Target::Methods);
    all
}

/// The list of contents; the current page is marked.
pub(super) fn contents(whole: &Whole, links: Links, current: Target) -> String {
    let many = whole.sites.iter().filter(|site| site.slug.is_some()).count() > MOST_SITES;
    let item = |target: Target| {
        let is_current = if target == current { " aria-current=\"page\"" } else { "" };
        format!(
            "<li><a href=\"{}\"{is_current}>{}</a></li>\n",
            links.to(target),
            html(&called(whole, target))
        )
    };
    let listed = all(whole)
        .into_iter()
        .filter(|target| !many || *target == current || !matches!(target, Target::Site(_)));
    format!(
        "<nav class=\"contents\" aria-label=\"Contents\"><details class=\"contents\"><summary>Contents</summary>\n\
         <ul>\n{}</ul></details></nav>\n",
        listed.map(item).collect::<String>()
    )
}

/// Links to the page before, the front page, and the page after.
pub(super) fn steps(whole: &Whole, links: Links, current: Target) -> String {
    let all = all(whole);
    let Some(at) = all.iter().position(|target| *target == current) else { return String::new() };
    let link = |target: &Target, words: &str| {
        let called = html(&called(whole, *target));
        format!("<a href=\"{}\">{words}{called}</a>\n", links.to(*target))
    };
    let before = at.checked_sub(1).and_then(|before| all.get(before));
    let mut out = "<nav class=\"around\" aria-label=\"Pages before and after\">\n".to_owned();
    out.extend(before.map(|target| link(target, "Previous: ")));
    if at > 1 {
        out.push_str(&link(&Target::Front, "Back to: "));
    }
    out.extend(all.get(at + 1).map(|target| link(target, "Next: ")));
    out + "</nav>\n"
}

/// What the report was made with, and where the rest of it is.
pub(super) fn footer(whole: &Whole, links: Links) -> String {
    let link = |path: &str| format!("<a href=\"{}\">{path}</a>", links.file(path));
    format!(
        "<p>{} Associations in recorded data: they rank where to look, prove no cause, and \
         judge no person. Inputs with their hashes: {}. All tables: {}; for programs: {}. The links work where the whole \
         folder is at hand.</p>\n",
        made_with(whole.parts.inputs),
        link("run.json"),
        link("tables.xlsx"),
        link("findings.json"),
    )
}

/// Which version, settings and seed a page was made with, as HTML: the foot of every page begins so.
pub(super) fn made_with(inputs: &Inputs) -> String {
    format!(
        "motetrail {}; settings {}; seed {}.",
        html(env!("CARGO_PKG_VERSION")),
        html(inputs.settings_hash.get(..12).unwrap_or(&inputs.settings_hash)),
        inputs.seed,
    )
}
