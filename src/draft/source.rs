//! Writes the keys of `[[source]]`: how the file is written, and what only its owner can know.

use std::collections::{BTreeMap, BTreeSet};

use super::asked::Asked;
use super::ends::END_FACES;
use super::mapped::{Mapped, Part};
use super::name::Name;
use super::numbers::{self, Shared};
use super::page::{Page, Question, Standing, UNKNOWN, counted, list, one_of, quoted, shown};
use crate::records::{Kind, Table, face_columns};
use crate::settings::{Dialect, LineEnd, Separator, ShortRows};

/// First of the hundred years that two digits most likely mean.
const PIVOT: &str = "1970";
/// Most null words shown as evidence.
const SHOWN: usize = 5;

/// The keys, in the order of the settings' documentation.
pub fn source(page: &mut Page, asked: &Asked, dialect: &Dialect, shared: Shared, parts: &[Part]) {
    page.section("[[source]]", "");
    let sure =
        |page: &mut Page, key: &str, value: &str| page.line(key, value, &Standing::Sure, None);
    sure(page, "name", &quoted(&asked.source_name));
    let files = asked.fleet.as_ref().map(|fleet| fleet.files.clone());
    sure(page, "files", &list(&files.unwrap_or_else(|| vec![glob(&asked.file)])));
    site(page, asked, parts);
    zone(page, parts, asked);
    for (key, value) in written(dialect, shared) {
        let guess = asked.guessed_encoding.as_ref().filter(|_| key == "encoding");
        let standing = guess.map_or(Standing::Sure, |evidence| {
            let question = "Is this the encoding? Else some letters are others".to_owned();
            Standing::Proposed(Question { question, evidence: evidence.clone() })
        });
        page.line(key, &value, &standing, None);
    }
    numbers::thousands(page, shared, parts);
    nulls(page, dialect, parts, asked);
    pivot(page, parts);
    scope(page, parts, asked);
    finding(page, parts);
    cover(page, parts);
}

fn open(question: &str, evidence: &str) -> Standing {
    Standing::Open(Question { question: question.to_owned(), evidence: evidence.to_owned() })
}

/// A file's name as a glob that means only this file.
fn glob(file: &str) -> String {
    let mut glob = String::new();
    for c in file.chars() {
        match c {
            '*' | '?' | '[' | ']' => glob.extend(['[', c, ']']),
            _ => glob.push(c),
        }
    }
    glob
}

fn mapped<'a, 'p>(parts: &'a [Part<'p>]) -> impl Iterator<Item = &'a Mapped<'p>> {
    parts.iter().flat_map(|part| &part.mapped)
}

fn site(page: &mut Page, asked: &Asked, parts: &[Part]) {
    if let Some(site) = &asked.site {
        return page.line("site", &quoted(site), &Standing::Sure, None);
    }
    if mapped(parts).any(|one| one.column.name == "site") {
        return;
    }
    if let Some((likely, standing)) = asked.fleet.as_ref().and_then(|fleet| fleet.site.as_ref()) {
        let is_sure = matches!(standing, Standing::Sure);
        let remark = is_sure.then_some("its folder is called so, as other exports call this site");
        return page.line("site", &quoted(likely), standing, remark);
    }
    let question = format!("Which site is the file from?{}", one_of(&asked.sites));
    let standing = open(&question, "no column of it looks like a site");
    page.line("site", &quoted(UNKNOWN), &standing, None);
}

fn zone(page: &mut Page, parts: &[Part], asked: &Asked) {
    let times: Vec<&Mapped> = mapped(parts).filter(|one| one.column.kind == Kind::Time).collect();
    let local: Vec<&&Mapped> =
        times.iter().filter(|one| one.times.as_ref().is_none_or(|times| !times.zoned)).collect();
    let Some(first) = local.first() else { return };
    if local.iter().all(|one| one.names.iter().any(|name| Name::of(name).is_utc())) {
        let remark = "the names of the times say so";
        return page.line("timezone", &quoted("UTC"), &Standing::Sure, Some(remark));
    }
    // The fleet's own zone is asked about once.
    if asked.fleet.is_some() {
        return;
    }
    let example = first.profile.examples.iter().find(|text| !text.is_empty());
    let evidence = match example {
        Some(example) => format!(
            "the times of column {} say none, such as {}",
            shown(&first.profile.name),
            shown(example)
        ),
        None => format!("column {} is empty", shown(&first.profile.name)),
    };
    let question = "Which time zone are the times in? Without this line the fleet's";
    page.line("timezone", &quoted(UNKNOWN), &open(question, &evidence), None);
}

/// Keys that differ from the defaults.
fn written(dialect: &Dialect, shared: Shared) -> Vec<(&'static str, String)> {
    let usual = Dialect::default();
    let byte = |byte: u8| quoted(&char::from(byte).to_string());
    let mut keys = Vec::new();
    let mut key =
        |name, value: String, differs: bool| keys.extend(differs.then_some((name, value)));
    let separator = match &dialect.separator {
        Separator::Byte(separator) => byte(*separator),
        Separator::Text(text) => quoted(text),
        Separator::Blanks => quoted("blanks"),
    };
    key("separator", separator, dialect.separator != usual.separator);
    let quote = dialect.quote.map_or_else(|| quoted(""), byte);
    key("quote", quote, dialect.quote != usual.quote);
    key("escape", dialect.escape.map_or_else(String::new, byte), dialect.escape.is_some());
    let end = match dialect.line_end {
        LineEnd::Lf => "lf",
        LineEnd::Cr => "cr",
        LineEnd::Any => "any",
    };
    key("line_end", quoted(end), dialect.line_end != usual.line_end);
    let mark = shared.decimal_mark;
    key("decimal_mark", byte(mark), mark != usual.decimal_mark);
    let encoding = quoted(&dialect.encoding.name());
    key("encoding", encoding, dialect.encoding != usual.encoding);
    key("skip_lines", dialect.skip_lines.to_string(), dialect.skip_lines != usual.skip_lines);
    key("header_rows", dialect.header_rows.to_string(), dialect.header_rows != usual.header_rows);
    key("units_row", dialect.units_row.to_string(), dialect.units_row);
    let pads = dialect.short_rows == ShortRows::Pad;
    key("short_rows", quoted("pad"), pads);
    let sheet = dialect.sheet.as_deref().unwrap_or_default();
    key("sheet", quoted(sheet), dialect.sheet.is_some());
    keys
}

/// Words for "not given" in columns without a code list; the others have them in their values.
fn nulls(page: &mut Page, dialect: &Dialect, parts: &[Part], asked: &Asked) {
    let is_code = |word: &str| {
        let codes = |one: &Mapped| asked.codes_of(one.column).is_some_and(|c| c.contains(&word));
        mapped(parts).any(codes)
    };
    let mut found: Vec<(&str, usize)> = Vec::new();
    for one in mapped(parts).filter(|one| asked.codes_of(one.column).is_none()) {
        for (word, count) in &one.profile.nulls {
            if !found.iter().any(|(known, _)| known == word) && !is_code(word) && !word.is_empty() {
                found.push((word, *count));
            }
        }
    }
    found.sort_unstable();
    let mut words: Vec<String> = found.iter().map(|(word, _)| (*word).to_owned()).collect();
    let given = dialect.nulls.iter().filter(|word| !is_code(word));
    words.extend(given.filter(|word| !found.iter().any(|(known, _)| known == word)).cloned());
    if words.is_empty() {
        return;
    }
    let question = Question {
        question: "Do these texts mean \"not given\"?".to_owned(),
        evidence: match found.is_empty() {
            true => "they stand in the file".to_owned(),
            false => counted(&found, SHOWN),
        },
    };
    page.line("nulls", &list(&words), &Standing::Proposed(question), None);
}

fn pivot(page: &mut Page, parts: &[Part]) {
    let short = |one: &&Mapped| one.times.as_ref().is_some_and(|times| times.short_years);
    let Some(one) = mapped(parts).find(short) else { return };
    let example = one.profile.examples.iter().find(|text| !text.is_empty());
    let question = Question {
        question: "Are years of two digits 1970 to 2069?".to_owned(),
        evidence: format!(
            "column {} holds {}",
            shown(&one.profile.name),
            shown(example.map_or("", |e| e))
        ),
    };
    page.line("two_digit_years_from", PIVOT, &Standing::Proposed(question), None);
}

fn scope(page: &mut Page, parts: &[Part], asked: &Asked) {
    let end = mapped(parts).find(|one| END_FACES.contains(&one.column.name));
    let evidence = match end {
        Some(end) => {
            let examples: Vec<String> = end
                .profile
                .examples
                .iter()
                .filter(|text| !text.is_empty())
                .take(2)
                .map(|text| shown(text))
                .collect();
            format!("names such as {}", examples.join(", "))
        }
        None => "no file says it".to_owned(),
    };
    let question = "Is a name of an end face unique in the whole fleet (\"fleet\") or only in its site (\"site\")?";
    match &asked.fleet {
        Some(fleet) => {
            let (value, standing) = &fleet.end_face_names;
            page.line("end_face_names", &quoted(value), standing, None);
        }
        None => page.line("end_face_names", &quoted(UNKNOWN), &open(question, &evidence), None),
    }
    if let Some(both) = both_sides(parts, asked) {
        if both {
            let remark = "the same names stand with both sides";
            page.line("one_name_both_sides", "true", &Standing::Sure, Some(remark));
        }
        return;
    }
    let sides = ["side", "side_a", "side_b"];
    if let Some(side) = mapped(parts).find(|one| sides.contains(&one.column.name)) {
        let question = "Does one name stand for both sides of an adapter? Then this line is needed";
        let evidence = format!("column {} tells sides apart", shown(&side.profile.name));
        page.line("one_name_both_sides", "true", &open(question, &evidence), None);
    }
}

/// Whether one name stands for both sides, as the rows say it; none where they do not.
fn both_sides(parts: &[Part], asked: &Asked) -> Option<bool> {
    if !asked.rows.tell() {
        return None;
    }
    let mut sides_of: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for part in parts {
        for [end, side] in face_columns(part.plan.table) {
            let name_of = |name: &str| {
                let one = part.filling(name)?;
                (one.names.len() == 1).then(|| one.names[0].as_str())
            };
            let Some((end, side)) = name_of(end).zip(name_of(side)) else { continue };
            for (name, sides) in asked.rows.beside(end, side) {
                sides_of.entry(name).or_default().extend(sides);
            }
        }
    }
    (!sides_of.is_empty()).then(|| sides_of.values().any(|sides| sides.len() > 1))
}

fn finding(page: &mut Page, parts: &[Part]) {
    let looks = |part: &&Part| part.plan.table == Table::Inspections;
    if parts.iter().find(looks).is_some_and(|part| part.filling("finding").is_none()) {
        let question = "What does a failing look without a finding mean here: contamination or defect? Without this line: unknown";
        let evidence = "no column of the file looks like a finding";
        page.line("finding_default", "\"contamination\"", &open(question, evidence), None);
    }
}

/// Which days a source of faults is complete for; nobody but its owner knows.
fn cover(page: &mut Page, parts: &[Part]) {
    if parts.iter().any(|part| part.plan.table == Table::Faults) {
        let question = "From which day to which does this source hold every fault? Without this line it is guessed";
        let day = quoted(UNKNOWN);
        let days = format!("{{ faults = {{ from = {day}, to = {day} }} }}");
        page.line(
            "covers",
            &days,
            &open(question, "a file of faults does not say when there were none"),
            None,
        );
    }
}
