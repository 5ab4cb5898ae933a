//! Writes a drafted part as `[[source.record]]`.

use super::fold::squeezed;
use super::numbers::{self, Shared};
use super::page::{Page, Question, Standing, key, list, one_or_many, quoted, shown};
use super::part::{Mapped, Part};
use super::vocabulary::Vocabulary;
use crate::records::{Kind, Table};
use crate::settings::{Test, When};

/// Stands for what nobody knows, in a line that is a comment.
const UNKNOWN: &str = "\"...\"";

/// The part at `index`, with what is asked about its table.
pub fn record(
    page: &mut Page,
    index: usize,
    part: &Part,
    shared: Shared,
    asked: Option<&Question>,
) {
    let path = format!("record[{index}]");
    page.blank();
    if let Some(why) = &part.plan.why {
        page.comment(why);
    }
    page.section("[[source.record]]", &path);
    let standing = asked.map_or(Standing::Sure, |asked| Standing::Proposed(asked.clone()));
    page.line("table", &quoted(part.plan.table.name()), &standing, None);
    for question in &part.plan.asked {
        page.doubt("when", question);
    }
    if let Some(when) = &part.plan.when {
        page.line("when", &condition(when), &Standing::Sure, None);
    }
    page.section("[source.record.columns]", &format!("{path}.columns"));
    columns(page, part);
    dates(page, part, &path);
    numbers::of_columns(page, shared, part, &path);
    durations(page, part, &path);
    constants(page, part, &path);
    values(page, part, &path);
}

fn condition(when: &When) -> String {
    let test = match &when.is {
        Test::OneOf(words) => format!("is = {}", list(words)),
        Test::NoneOf(words) => format!("is_not = {}", list(words)),
        Test::Given => "given = true".to_owned(),
    };
    format!("{{ column = {}, {test} }}", quoted(&when.column))
}

fn columns(page: &mut Page, part: &Part) {
    for mapped in &part.mapped {
        let person = mapped.column.kind == Kind::Person;
        let remark = person.then_some("people: kept as pseudonyms only");
        page.line(mapped.column.name, &one_or_many(&mapped.names), &mapped.standing, remark);
    }
    for (name, question) in &part.missing {
        page.line(name, UNKNOWN, &Standing::Open(question.clone()), None);
    }
}

fn dates(page: &mut Page, part: &Part, path: &str) {
    let timed: Vec<_> = part
        .mapped
        .iter()
        .filter_map(|mapped| Some((mapped.column.name, mapped.times.as_ref()?)))
        .collect();
    if timed.is_empty() {
        return;
    }
    page.section("[source.record.dates]", &format!("{path}.dates"));
    for (name, times) in timed {
        page.line(name, &one_or_many(&times.patterns), &times.standing, None);
    }
}

fn durations(page: &mut Page, part: &Part, path: &str) {
    // Forms of a column that is not mapped are an error in the settings.
    let is_mapped = |mapped: &&Mapped| !matches!(mapped.standing, Standing::Open(_));
    let mapped = part.mapped.iter().filter(is_mapped);
    let timed: Vec<_> = mapped
        .filter_map(|mapped| Some((mapped.column.name, mapped.durations.as_ref()?)))
        .collect();
    if timed.is_empty() {
        return;
    }
    page.section("[source.record.durations]", &format!("{path}.durations"));
    for (name, durations) in timed {
        let words: Vec<String> =
            durations.forms.iter().map(|form| form.word().to_owned()).collect();
        page.line(name, &one_or_many(&words), &durations.standing, None);
    }
}

fn values(page: &mut Page, part: &Part, path: &str) {
    for mapped in &part.mapped {
        // Values of a column that is not mapped are an error in the settings.
        let open = matches!(mapped.standing, Standing::Open(_));
        if open || mapped.values.is_empty() {
            continue;
        }
        let name = mapped.column.name;
        let header = format!("[source.record.values.{}]", key(name));
        page.section(&header, &format!("{path}.values.{name}"));
        if let Some(question) = &mapped.asked {
            page.doubt("", question);
        }
        for value in &mapped.values {
            page.line(&value.word, &quoted(&value.code), &value.standing, None);
        }
    }
}

/// What the names of the columns say of every row.
fn constants(page: &mut Page, part: &Part, path: &str) {
    let mut lines = sides(part);
    if part.plan.cleaned.as_ref().is_some_and(|cleaned| !cleaned.names_method) {
        let question = Question {
            question: "Which method are these cleanings?".to_owned(),
            evidence: "the column only says whether there was one".to_owned(),
        };
        let known = part.mapped.iter().any(|mapped| mapped.column.name == "method");
        lines.extend((!known).then(|| ("method", UNKNOWN.to_owned(), Standing::Open(question))));
    }
    if lines.is_empty() {
        return;
    }
    page.section("[source.record.constants]", &format!("{path}.constants"));
    for (name, value, standing) in lines {
        page.line(name, &value, &standing, None);
    }
}

/// Sides of a mating's ends that stand in the names of their columns, such as `plug` and `port`.
fn sides(part: &Part) -> Vec<(&'static str, String, Standing)> {
    if part.plan.table != Table::Matings {
        return Vec::new();
    }
    let has = |name: &str| part.mapped.iter().find(|mapped| mapped.column.name == name);
    let ends = [("end_face_a", "side_a"), ("end_face_b", "side_b")];
    let lines = ends.into_iter().filter_map(|(end, side)| {
        let mapped = has(end).filter(|_| has(side).is_none())?;
        let name = &mapped.profile.name;
        let meaning = Vocabulary::get().word("side", &squeezed(name)).first()?;
        let question = Question {
            question: format!("Is the end in column {} always a {}?", shown(name), meaning.of),
            evidence: "the name of the column".to_owned(),
        };
        Some((side, quoted(meaning.of), Standing::Proposed(question)))
    });
    lines.collect()
}
