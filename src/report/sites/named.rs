//! All sites with their answers, those first that stand out most, and what their pages are called.

use std::collections::BTreeSet;

use super::answers::{Answer, Standing, answers, cost_scale};
use crate::measures::Review;
use crate::records::UNKNOWN;

/// One site.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::report) struct Site {
    pub name: String,
    /// Its part of a file name; none where it has no page.
    pub slug: Option<String>,
    pub answers: [Answer; 6],
}

impl Site {
    /// Answers in which it stands surely apart from the fleet, the worse ones weighing more.
    fn stands_out(&self) -> usize {
        let weight = |answer: &Answer| match answer.standing {
            Standing::Worse => 2,
            Standing::Better => 1,
            Standing::Alike | Standing::Untold => 0,
        };
        self.answers.iter().map(weight).sum()
    }
}

/// Every site of which a record names it (what names none is listed as unknown), those that stand out most first, of equals in the order of the settings. The first `site_pages` of them
/// have a page.
pub(in crate::report) fn sites(review: &Review) -> Vec<Site> {
    let scale = cost_scale(review);
    let mut sites: Vec<Site> = review
        .sites
        .iter()
        .filter(|name| *name != UNKNOWN)
        .map(|name| Site { name: name.clone(), slug: None, answers: answers(review, name, &scale) })
        .collect();
    sites.sort_by_key(|site| std::cmp::Reverse(site.stands_out()));
    let mut taken = BTreeSet::new();
    for site in sites.iter_mut().take(review.site_pages as usize) {
        site.slug = Some(free(&slug(&site.name), &mut taken));
    }
    sites
}

/// Small Latin letters and digits of a name, the rest as single dashes: a file name on every system.
fn slug(name: &str) -> String {
    let mut slug = String::new();
    for c in name.chars().flat_map(char::to_lowercase) {
        match c {
            c if c.is_ascii_alphanumeric() => slug.push(c),
            'ä' | 'å' | 'á' | 'à' | 'â' | 'ã' => slug.push('a'),
            'é' | 'è' | 'ê' | 'ë' => slug.push('e'),
            'í' | 'ì' | 'î' | 'ï' => slug.push('i'),
            'ö' | 'ó' | 'ò' | 'ô' | 'õ' | 'ø' => slug.push('o'),
            'ü' | 'ú' | 'ù' | 'û' => slug.push('u'),
            'ç' => slug.push('c'),
            'ñ' => slug.push('n'),
            'ß' => slug.push_str("ss"),
            _ if !slug.ends_with('-') && !slug.is_empty() => slug.push('-'),
            _ => {}
        }
    }
    let slug: String = slug.trim_end_matches('-').chars().take(40).collect();
    if slug.is_empty() { "named-otherwise".to_owned() } else { slug }
}

/// The slug, with a number where another site has it.
fn free(slug: &str, taken: &mut BTreeSet<String>) -> String {
    let mut numbered = (2..).map(|number| format!("{slug}-{number}"));
    let mut free = slug.to_owned();
    while !taken.insert(free.clone()) {
        free = numbered.next().unwrap_or_default();
    }
    free
}
