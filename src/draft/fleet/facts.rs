//! What all exports together say of the fleet: its sites, its currency, how far the name of an end face reaches.

use std::collections::{BTreeMap, BTreeSet};

use super::group::{Group, folder};
use crate::draft::code::{Known, known};
use crate::draft::drafted::Drafted;
use crate::draft::ends::END_FACES;
use crate::draft::fold::{squeezed, word_tokens};
use crate::draft::money::{name_words, said_of};
use crate::draft::page::{Question, Standing, one_of, shown};
use crate::draft::texts::texts;
use crate::draft::vocabulary::Vocabulary;
use crate::intake::{Said, has_sign};
use crate::records::Kind;

/// Share of names that stand at several sites from which they are likely no names of one end face.
const SHARED: f64 = 0.05;
/// Most names that are compared.
const MOST_NAMES: usize = 200_000;
/// Share of names that begin with letters of a site from which they are likely names of the whole fleet.
const LETTERED: f64 = 0.9;
/// Most columns that the question about a site names.
const MOST_NAMED: usize = 5;
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

/// The site that a group without a column for it is likely from.
#[derive(Clone, Debug)]
pub struct LikelySite {
    pub name: String,
    /// What is asked about it; certain where its folder is called like a site that other exports name.
    pub standing: Standing,
    /// Whether it is said of the folder and so of all files in it.
    pub is_of_folder: bool,
}

/// The site that a group without a column for it is likely from. `sites` are those that other exports name; `beside`
/// are columns of it that nothing reads and that hold a few words, each with one of them.
pub fn likely_site(group: &Group, sites: &[String], beside: &[(String, String)]) -> LikelySite {
    let file = group.files.first().map_or("", String::as_str);
    let folders: Vec<&str> = folder(file).split('/').rev().collect();
    let same = |part: &&str| {
        let plain = squeezed(part);
        sites.iter().find(|site| !plain.is_empty() && squeezed(site) == plain)
    };
    if let Some(site) = folders.iter().find_map(same) {
        return LikelySite { name: site.clone(), standing: Standing::Sure, is_of_folder: true };
    }
    let found = |part: &str| named_by(part, sites);
    let of_folder = folders.iter().find_map(|part| found(part));
    let of_file = found(stem(file));
    let says = |part: &&&str| {
        let token = squeezed(part);
        let meanings = Vocabulary::get().word("action", &token);
        !token.is_empty() && !GENERAL.contains(&token.as_str()) && meanings.is_empty()
    };
    let (name, is_of_folder) = match (of_folder, of_file, sites) {
        (None, Some(site), _) => (site, false),
        (Some(site), ..) => (site, true),
        (None, None, [only]) => (only.clone(), true),
        (None, None, _) => {
            let said = folders.iter().find(says).map(|part| (*part).to_owned());
            (said.unwrap_or_else(|| "site 1".to_owned()), true)
        }
    };
    let which = one_of(sites);
    let asked = match folder(file) {
        folder if is_of_folder && !folder.is_empty() => {
            format!("Which site are the files in {} from?{which}", shown(folder))
        }
        _ => format!("Which site is {} from?{which}", shown(file)),
    };
    let columns: Vec<String> = beside
        .iter()
        .take(MOST_NAMED)
        .map(|(name, word)| format!("{} ({})", shown(name), shown(word)))
        .collect();
    let evidence = match columns.is_empty() {
        true => "no column looks like a site; where the file stands says no more".to_owned(),
        false => format!(
            "no column is called like a site; if one of these says it, write its name as `site` among the columns of \
             the source instead: {}",
            columns.join(", ")
        ),
    };
    let standing = Standing::Proposed(Question { question: asked, evidence });
    LikelySite { name, standing, is_of_folder }
}

/// The one site that a name of a folder or file holds, is a part of or abbreviates.
fn named_by(part: &str, sites: &[String]) -> Option<String> {
    let plain = squeezed(part);
    let holds = |site: &&String| {
        let wanted = squeezed(site);
        !wanted.is_empty() && plain.contains(&wanted)
    };
    let is_word_of =
        |site: &&String| plain.chars().count() > 2 && word_tokens(site).contains(&plain);
    let one = |is: &dyn Fn(&&String) -> bool| {
        let mut found = sites.iter().filter(is);
        found.next().filter(|_| found.next().is_none()).cloned()
    };
    let known_as = || {
        let codes: Vec<&str> = sites.iter().map(String::as_str).collect();
        match known("site", &part.to_uppercase(), &codes) {
            Known::Sure(code) | Known::Likely(code, _) => Some(code),
            Known::Same | Known::Unknown => None,
        }
    };
    one(&holds).or_else(|| one(&is_word_of)).or_else(known_as)
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
    let mut question = Question {
        question: "Is a name of an end face unique in the whole fleet (\"fleet\") or only in its site (\"site\")?"
            .to_owned(),
        evidence: format!(
            "{} of {} names stand at more than one site{}",
            several.len(),
            at.len(),
            example.unwrap_or_default()
        ),
    };
    let is_shared = several.len() as f64 > SHARED * at.len() as f64;
    let sites: Vec<&str> = all.iter().map(String::as_str).collect();
    let lettered: Vec<(&String, String)> =
        several.iter().filter_map(|name| Some((*name, letters_of_site(name, &sites)?))).collect();
    let different: BTreeSet<&str> = lettered.iter().map(|(_, site)| site.as_str()).collect();
    // Whoever writes a site into every name has names for the whole fleet; what moved stands at several.
    let is_lettered =
        lettered.len() as f64 >= LETTERED * several.len() as f64 && different.len() > 1;
    if let Some((name, site)) = lettered.first().filter(|_| is_lettered) {
        question.evidence += &format!(
            "; {} of those begin with letters of a site, as {} does ({site})",
            lettered.len(),
            shown(name)
        );
    }
    let likely = if is_shared && !is_lettered { "site" } else { "fleet" };
    (likely, Standing::Proposed(question))
}

/// The site whose name the capital letters abbreviate that a name begins with.
fn letters_of_site(name: &str, sites: &[&str]) -> Option<String> {
    let letters: String = name.chars().take_while(char::is_ascii_uppercase).collect();
    let rest = name[letters.len()..].chars().next();
    // One letter is no site; letters that go on are a word.
    if letters.len() < 2 || rest.is_none_or(char::is_alphanumeric) {
        return None;
    }
    match known("site", &letters, sites) {
        Known::Sure(site) | Known::Likely(site, _) => Some(site),
        Known::Same => Some(letters),
        Known::Unknown => None,
    }
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
            match said_of(text) {
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
