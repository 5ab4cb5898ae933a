//! The pages: a front page to hand on, a page a question, a page a site, all sites by answers, methods and words; or all
//! of it as one file. A file a page; what they are made of is in `page`, and what they say in `questions`, `sites`, `words`.

mod around;
mod case;
mod decisions;
mod front;
mod headlined;
mod matrix;
mod methods;
mod payback;
mod site;
mod site_tables;

pub(in crate::report) use around::Parts;
pub use payback::write_payback;

use super::files::place::Content;
use super::page::links::{Links, Target};
use super::page::shell::Shell;
use super::sites::sites;
use around::{Whole, contents, footer, steps};

/// Every page, each a file.
pub(in crate::report) fn pages(parts: &Parts) -> Vec<Content> {
    let sites = sites(parts.inputs.review);
    let whole = Whole { parts, sites: &sites };
    let mut files = vec![page(&whole, Target::Front, "front", front::front(&whole, Links::Front))];
    for (section, number) in parts.sections.iter().zip(1..) {
        let lead = headlined::lead(&whole, section.id);
        let body = section.html(number, Links::Pages, 1, &lead);
        files.push(page(&whole, Target::Question(section.id), "asked", body));
    }
    for site in &sites {
        if let Some(slug) = &site.slug {
            let body = site::site(&whole, site, Links::Pages, 1);
            files.push(page(&whole, Target::Site(slug), "site", body));
        }
    }
    files.push(page(&whole, Target::Sites, "sites", matrix::all_sites(&whole, Links::Pages, 1)));
    files.push(page(&whole, Target::Methods, "methods", methods::methods(&whole, Links::Pages, 1)));
    files
}

/// The same as one file.
pub(in crate::report) fn one_file(parts: &Parts) -> Vec<Content> {
    let sites = sites(parts.inputs.review);
    let whole = Whole { parts, sites: &sites };
    let links = Links::OneFile;
    let mut body = format!("<div id=\"front\">\n{}</div>\n", front::front(&whole, links));
    for (section, number) in parts.sections.iter().zip(1..) {
        body.push_str(&section.html(number, links, 2, &headlined::lead(&whole, section.id)));
    }
    let part = |target: Target, part: String| {
        format!("<section id=\"{}\">\n{part}</section>\n", target.anchor())
    };
    body.push_str(&part(Target::Sites, matrix::all_sites(&whole, links, 2)));
    for site in &sites {
        if let Some(slug) = &site.slug {
            body.push_str(&part(Target::Site(slug), site::site(&whole, site, links, 2)));
        }
    }
    body.push_str(&part(Target::Methods, methods::methods(&whole, links, 2)));
    let shell = Shell {
        title: around::title(&whole, Target::Front),
        kind: "whole",
        contents: contents(&whole, links, Target::Front),
        body,
        footer: footer(&whole, links),
    };
    vec![(Target::Front.path(), shell.page())]
}

/// One page with what stands around it.
fn page(whole: &Whole, target: Target, kind: &'static str, body: String) -> Content {
    let links = if target == Target::Front { Links::Front } else { Links::Pages };
    let shell = Shell {
        title: around::title(whole, target),
        kind,
        contents: contents(whole, links, target),
        body: body + &steps(whole, links, target),
        footer: footer(whole, links),
    };
    (target.path(), shell.page())
}
