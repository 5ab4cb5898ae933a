//! Writes a drafted part as `[[source.record]]`.

use super::fold::squeezed;
use super::mapped::{Mapped, Part};
use super::name::Name;
use super::numbers::{self, Shared};
use super::page::{Page, Question, Standing, UNKNOWN, key, list, one_or_many, quoted, shown};
use super::vocabulary::Vocabulary;
use crate::records::{Kind, Table, face_columns};
use crate::settings::{Test, When};

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
    if let Some(zones) = &part.plan.zones {
        let pairs =
            zones.columns.iter().map(|(zone, name)| format!("{} = {}", key(zone), quoted(name)));
        let value = format!("{{ {} }}", pairs.collect::<Vec<_>>().join(", "));
        page.line(
            "zones",
            &value,
            &Standing::Sure,
            Some("a result a zone: they make outcome and zone"),
        );
    }
    page.section("[source.record.columns]", &format!("{path}.columns"));
    columns(page, part);
    forms(page, part, &path);
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
    let is_lifting = page.is_lifting();
    for one in part.missing.iter().filter(|one| !is_lifting || one.likely.is_none()) {
        page.line(one.name, &quoted(UNKNOWN), &Standing::Open(one.question.clone()), None);
    }
}

/// How names that several columns make are written.
fn forms(page: &mut Page, part: &Part, path: &str) {
    let is_mapped = |mapped: &&Mapped| !matches!(mapped.standing, Standing::Open(_));
    let formed: Vec<_> = part
        .mapped
        .iter()
        .filter(is_mapped)
        .filter_map(|mapped| Some((mapped.column.name, mapped.form.as_ref()?)))
        .collect();
    if formed.is_empty() {
        return;
    }
    page.section("[source.record.forms]", &format!("{path}.forms"));
    for (name, form) in formed {
        page.line(name, &quoted(form), &Standing::Sure, None);
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
    let own = part.mapped.iter().any(|mapped| mapped.column.name == "outcome");
    if let Some(zones) = part.plan.zones.as_ref().filter(|zones| !own && !zones.values.is_empty()) {
        page.section("[source.record.values.outcome]", &format!("{path}.values.outcome"));
        for value in &zones.values {
            page.line(&value.word, &quoted(&value.code), &value.standing, None);
        }
    }
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
    lines.extend(part.plan.seq.map(|seq| ("seq", quoted(seq), Standing::Sure)));
    // Settings for a whole folder can be read before anything is answered.
    let is_lifting = page.is_lifting();
    let filled = part.missing.iter().filter(|_| is_lifting).filter_map(|one| {
        let likely = one.likely.as_ref()?;
        Some((one.name, quoted(likely), Standing::Proposed(one.question.clone())))
    });
    lines.extend(filled);
    if !page.is_lifting() && part.plan.cleaned.as_ref().is_some_and(|cleaned| !cleaned.names_method)
    {
        let question = Question {
            question: "Which method are these cleanings?".to_owned(),
            evidence: "the column only says whether there was one".to_owned(),
        };
        let known = part.mapped.iter().any(|mapped| mapped.column.name == "method");
        lines.extend((!known).then(|| ("method", quoted(UNKNOWN), Standing::Open(question))));
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
    let lines = face_columns(part.plan.table).iter().filter_map(|[end, side]| {
        let mapped = part.filling(end).filter(|_| part.filling(side).is_none())?;
        let name = &mapped.profile.name;
        let (name_of, words) = (Name::of(name), Vocabulary::get());
        let beside = words.word("side", &name_of.beside().concat());
        let meaning = words.word("side", &squeezed(name)).first().or(beside.first())?;
        let question = Question {
            question: format!("Is the end in column {} always a {}?", shown(name), meaning.of),
            evidence: "the name of the column".to_owned(),
        };
        Some((*side, quoted(meaning.of), Standing::Proposed(question)))
    });
    lines.collect()
}
