//! What all exports together say of the fleet: its sites, its currency, how far the name of an end face reaches.

use std::collections::{BTreeMap, BTreeSet};

use super::group::{Group, folder};
use crate::draft::code::{Known, known};
use crate::draft::drafted::Drafted;
use crate::draft::fold::squeezed;
use crate::draft::mapped::END_FACES;
use crate::draft::numbers::name_words;
use crate::draft::page::{Question, Standing, shown};
use crate::draft::texts::texts;
use crate::intake::{Said, has_sign, said};
use crate::records::Kind;

/// Share of names that stand at several sites from which they are likely no names of one end face.
const SHARED: f64 = 0.05;
/// Most names that are compared.
const MOST_NAMES: usize = 200_000;
/// Names of folders that say nothing of a site.
const GENERAL: [&str; 14] = [
    "exports", "export", "data", "csv", "files", "in", "inbox", "input", "raw", "archive", "daten",
    "donnees", "dane", "dados",
];

/// The words of all site columns, without those that only shorten another one.
pub fn sites(drafts: &[Drafted]) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for part in drafts.iter().flat_map(|draft| &draft.parts) {
        let Some(site) = part.filling("site").filter(|one| one.profile.words.is_some()) else {
            continue;
        };
        for (word, _) in texts(site.profile) {
            if !words.iter().any(|known| known == word) {
                words.push(word.to_owned());
            }
        }
    }
    words.sort_by(|a, b| b.chars().count().cmp(&a.chars().count()).then_with(|| a.cmp(b)));
    let mut sites: Vec<String> = Vec::new();
    for word in words {
        let so_far: Vec<&str> = sites.iter().map(String::as_str).collect();
        if known("site", &word, &so_far) == Known::Unknown {
            sites.push(word);
        }
    }
    sites.sort();
    sites
}

/// The site that a group without a column for it is likely from, and what is asked about it.
pub fn likely_site(group: &Group, sites: &[String]) -> (String, Question) {
    let file = group.files.first().map_or("", String::as_str);
    let parts: Vec<&str> = folder(file).split('/').rev().chain([stem(file)]).collect();
    let named = |site: &&String| {
        let wanted = squeezed(site);
        !wanted.is_empty() && parts.iter().any(|part| squeezed(part).contains(&wanted))
    };
    let said = parts
        .iter()
        .find(|part| !part.is_empty() && !GENERAL.contains(&part.to_lowercase().as_str()));
    let likely = match (sites.iter().find(named), sites) {
        (Some(site), _) => site.clone(),
        (None, [only]) => only.clone(),
        _ => said.map_or_else(|| "site 1".to_owned(), |part| (*part).to_owned()),
    };
    let which =
        if sites.is_empty() { String::new() } else { format!(" One of {}", sites.join(", ")) };
    let question = Question {
        question: format!("Which site are {} from?{which}", shown(file)),
        evidence: "no column looks like a site; where the file stands says no more".to_owned(),
    };
    (likely, question)
}

/// A file's name without its folder and endings.
pub fn stem(file: &str) -> &str {
    let name = file.rsplit_once('/').map_or(file, |(_, name)| name);
    name.split('.').find(|part| !part.is_empty()).unwrap_or("export")
}

/// Whether a name of an end face is one of the fleet or of its site. `fixed` is the site of each group without a column
/// for it.
pub fn end_face_names(
    groups: &[Group],
    drafts: &[Drafted],
    fixed: &[Option<String>],
) -> (&'static str, Standing) {
    let mut at: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    let mut all: BTreeSet<String> = BTreeSet::new();
    for ((group, draft), fixed) in groups.iter().zip(drafts).zip(fixed) {
        for part in &draft.parts {
            let site = part.filling("site").and_then(|site| site.names.first());
            for end in END_FACES.iter().filter_map(|end| part.filling(end)) {
                let mut columns: Vec<&str> = end.names.iter().map(String::as_str).collect();
                columns.extend(site.map(String::as_str));
                for row in group.rows.of(&columns) {
                    let width = end.names.len();
                    let site = match (row.get(width), fixed) {
                        (Some(site), _) => (*site).to_owned(),
                        (None, Some(site)) => site.clone(),
                        (None, None) => continue,
                    };
                    all.insert(site.clone());
                    let name = row[..width].join(" ");
                    if at.len() < MOST_NAMES || at.contains_key(&name) {
                        at.entry(name).or_default().insert(site);
                    }
                }
            }
        }
    }
    if all.len() < 2 {
        return ("fleet", Standing::Sure);
    }
    let several: Vec<&String> =
        at.iter().filter(|(_, sites)| sites.len() > 1).map(|(name, _)| name).collect();
    let example = several.first().map(|name| format!(", such as {}", shown(name)));
    let question = Question {
        question: "Is a name of an end face unique in the whole fleet (\"fleet\") or only in its site (\"site\")?"
            .to_owned(),
        evidence: format!(
            "{} of {} names stand at more than one site{}",
            several.len(),
            at.len(),
            example.unwrap_or_default()
        ),
    };
    let likely = if several.len() as f64 > SHARED * at.len() as f64 { "site" } else { "fleet" };
    (likely, Standing::Proposed(question))
}

/// The currency of the amounts, and what is asked about it; none where no export holds any.
pub fn currency(drafts: &[Drafted]) -> Option<(String, Standing)> {
    let mut named: BTreeMap<String, usize> = BTreeMap::new();
    // Of signs that several currencies have.
    let mut shared: BTreeMap<String, usize> = BTreeMap::new();
    let mut amounts = 0;
    let parts = drafts.iter().flat_map(|draft| &draft.parts);
    for one in parts.flat_map(|part| &part.mapped).filter(|one| one.column.kind == Kind::Money) {
        amounts += one.profile.given();
        let cells = one.profile.examples.iter().map(String::as_str);
        let words = name_words(&one.profile.name);
        let signs = cells.map(|cell| {
            cell.trim_matches(|c: char| c.is_ascii_digit() || " .,'-+\u{a0}\u{202f}".contains(c))
        });
        for text in words.chain(signs.filter(|text| !text.is_empty())) {
            match said(text) {
                Some(Said::Code(code)) if has_sign(&code) && text == code => {
                    *named.entry(code).or_default() += 1;
                }
                Some(Said::Sign([code])) => *named.entry((*code).to_owned()).or_default() += 1,
                Some(Said::Sign([code, ..])) if !text.bytes().all(|b| b.is_ascii_alphabetic()) => {
                    *shared.entry((*code).to_owned()).or_default() += 1;
                }
                _ => {}
            }
        }
    }
    if amounts == 0 {
        return None;
    }
    let most = named.iter().max_by_key(|(_, count)| **count).map(|(code, _)| code.clone());
    let question = |evidence: String| {
        Standing::Proposed(Question {
            question: "What currency are the amounts in?".to_owned(),
            evidence,
        })
    };
    Some(match (most, named.len()) {
        (Some(code), 1) => (code, Standing::Sure),
        (Some(code), many) => (code, question(format!("{many} currencies are named"))),
        (None, _) => match shared.into_iter().max_by_key(|(_, count)| *count) {
            Some((code, _)) => {
                (code, question("its sign is that of several currencies".to_owned()))
            }
            None => ("EUR".to_owned(), question("no amount and no column names one".to_owned())),
        },
    })
}

/// The zone that a currency makes likely (IANA names; common practice).
pub fn zone_of(currency: &str) -> &'static str {
    match currency {
        "PLN" => "Europe/Warsaw",
        "CHF" => "Europe/Zurich",
        "GBP" => "Europe/London",
        "CZK" => "Europe/Prague",
        "HUF" => "Europe/Budapest",
        "SEK" => "Europe/Stockholm",
        "NOK" => "Europe/Oslo",
        "DKK" => "Europe/Copenhagen",
        "RON" => "Europe/Bucharest",
        "BRL" => "America/Sao_Paulo",
        "JPY" => "Asia/Tokyo",
        "INR" => "Asia/Kolkata",
        _ => "UTC",
    }
}
