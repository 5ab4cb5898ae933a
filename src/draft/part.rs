//! One part of the map: its columns, dates and values, each with how sure it is.

use super::asked::Asked;
use super::choice::{Candidate, Choice, choose};
use super::cleaned::Cleaned;
use super::compose::compose;
use super::durations::{are_durations, durations};
use super::ends::MATED;
use super::fit::{Fit, holds_people};
use super::mapped::{Mapped, Missing, Part};
use super::name::Clarity;
use super::page::{Question, Standing, counted, shown};
use super::plan::Plan;
use super::record_id::settle;
use super::texts::texts;
use super::times::{Times, clock, is_day, times, unreadable};
use super::values::{cut, values};
use crate::records::{Kind, Table, columns};
use crate::settings::Test;
use crate::tabular::profile::{Guess, THOUSANDS};

/// Most texts that an evidence shows.
const SHOWN: usize = 3;

/// Drafts a part; `look` is the part of the inspections on whose rows its cleanings stand, if any.
pub fn part<'p>(plan: Plan<'p>, look: Option<&Part<'p>>, asked: &Asked) -> Part<'p> {
    let choices = choose(plan.table, &plan.candidates, asked);
    let mut used: Vec<&str> = choices.iter().map(|choice| choice.profile.name.as_str()).collect();
    let mut mapped = Vec::new();
    for choice in &choices {
        let unused: Vec<Candidate> = plan
            .candidates
            .iter()
            .filter(|one| !used.contains(&one.profile.name.as_str()))
            .cloned()
            .collect();
        let mut one = map(&plan, choice, &unused, asked);
        compose(&mut one, plan.table, &unused, asked);
        used.extend(one.names.iter().filter_map(|name| {
            let same = unused.iter().find(|candidate| candidate.profile.name == *name);
            same.map(|candidate| candidate.profile.name.as_str())
        }));
        mapped.push(one);
    }
    if let Some((cleaned, look)) = plan.cleaned.as_ref().zip(look) {
        mapped = beside(mapped, look);
        if cleaned.names_method {
            mapped.retain(|one| one.column.name != "method");
            mapped.extend(method(cleaned, asked));
        }
    }
    settle(&mut mapped, asked);
    if let Some(ends) = plan.record_ends {
        end_records(&mut mapped, ends);
    }
    let missing = missing(&plan, &mapped, asked);
    Part { plan, mapped, missing }
}

/// Numbers that end with what the record is: several records stand on one row.
fn end_records(mapped: &mut Vec<Mapped>, ends: &str) {
    // No form can name a column with braces; one number for several records would have them replace each other.
    let is_formed = |one: &Mapped| !one.names.iter().any(|name| name.contains(['{', '}']));
    mapped.retain(|one| one.column.name != "record" || is_formed(one));
    if let Some(record) = mapped.iter_mut().find(|one| one.column.name == "record") {
        let cells: Vec<String> = record.names.iter().map(|name| format!("{{{name}}}")).collect();
        record.form = Some(format!("{} {ends}", cells.join(" ")));
    }
}

fn map<'p>(
    plan: &Plan<'p>,
    choice: &Choice<'p>,
    unused: &[Candidate<'p>],
    asked: &Asked,
) -> Mapped<'p> {
    let (column, profile) = (choice.column, choice.profile);
    let mut names = vec![profile.name.clone()];
    let mut read = None;
    if column.kind == Kind::Time {
        let day = plan.candidates.iter().find(|one| one.profile.name == profile.name);
        let own = plan.table.time_column() == Some(column.name);
        let beside = day.filter(|_| is_day(profile)).and_then(|day| clock(day, own, unused));
        names.extend(beside.iter().map(|(clock, _)| clock.profile.name.clone()));
        read = Some(times(profile, beside.as_ref().map(|(_, pattern)| pattern.as_str())));
    }
    let mut values = values(column, profile, asked);
    let question = cut(&mut values, profile);
    Mapped {
        column,
        profile,
        names,
        standing: standing(choice, read.as_ref()),
        times: read.filter(|read| !read.patterns.is_empty()),
        durations: (column.kind == Kind::Minutes).then(|| durations(profile)).flatten(),
        values,
        asked: question,
        form: None,
    }
}

/// The columns of a cleaning on the row of a look: those of the look, and what only a cleaning has.
fn beside<'p>(own: Vec<Mapped<'p>>, look: &Part<'p>) -> Vec<Mapped<'p>> {
    let twin = |name: &str| {
        let name = if name == "operator" { "inspector" } else { name };
        look.mapped.iter().find(|one| one.column.name == name)
    };
    let free = |one: &Mapped| !look.mapped.iter().any(|other| other.names == one.names);
    let mut mapped = Vec::new();
    for column in columns(Table::Cleanings) {
        match twin(column.name) {
            Some(twin) => mapped.push(Mapped { column, ..twin.clone() }),
            None => mapped.extend(
                own.iter().find(|one| one.column.name == column.name && free(one)).cloned(),
            ),
        }
    }
    mapped
}

/// The method of a cleaning that stands on the row of a look.
fn method<'p>(cleaned: &Cleaned<'p>, asked: &Asked) -> Option<Mapped<'p>> {
    let column = columns(Table::Cleanings).iter().find(|column| column.name == "method")?;
    let mut values = values(column, cleaned.profile, asked);
    if let Test::NoneOf(words) = &cleaned.when {
        values.retain(|value| !words.contains(&value.word));
    }
    Some(Mapped {
        column,
        profile: cleaned.profile,
        names: vec![cleaned.profile.name.clone()],
        standing: Standing::Sure,
        times: None,
        durations: None,
        values,
        asked: None,
        form: None,
    })
}

fn standing(choice: &Choice, times: Option<&Times>) -> Standing {
    let (name, column) = (shown(&choice.profile.name), choice.column.name);
    let open = |question, evidence| Standing::Open(Question { question, evidence });
    if times.is_some_and(|times| times.patterns.is_empty()) {
        let question =
            format!("Is {name} the column of `{column}`? It needs a pattern in `dates` then");
        return open(question, unreadable(choice.profile));
    }
    let numbers = matches!(choice.column.kind, Kind::Integer | Kind::Minutes | Kind::Money);
    if choice.is_sure() {
        // What separates thousands is written into the map where the numbers show it.
        let is_shown = choice.profile.numbers.thousands.is_some();
        // Lengths of time, and a mark that is either, have questions of their own.
        let is_length = choice.column.kind == Kind::Minutes
            && !matches!(choice.profile.kind, Guess::Integer | Guess::Decimal { .. })
            && are_durations(choice.profile);
        let is_asked = is_length || choice.profile.numbers.open.is_some();
        let is_open = |doubt: &&String| !(is_asked || is_shown && doubt.starts_with(THOUSANDS));
        return match choice.profile.doubts.iter().find(is_open).filter(|_| numbers) {
            Some(doubt) => Standing::Proposed(Question {
                question: format!("Are the numbers of {name} read right?"),
                evidence: doubt.clone(),
            }),
            None => Standing::Sure,
        };
    }
    let holds = held(choice);
    if choice.fit == Fit::Against {
        let question = format!("Is {name} the column of `{column}`? Its cells do not look like it");
        let shown = choice.profile.doubts.first().filter(|_| !is_of_people(choice));
        let doubt = shown.map(|doubt| format!("; {doubt}"));
        return open(question, format!("{holds}{}", doubt.unwrap_or_default()));
    }
    let rival = choice.rival.map(|rival| format!("; {} could be it too", shown(rival)));
    Standing::Proposed(Question {
        question: format!("Is {name} the column of `{column}`?"),
        evidence: format!("{}; {holds}{}", said(choice.clarity), rival.unwrap_or_default()),
    })
}

/// Whether people's names could stand in its cells.
fn is_of_people(choice: &Choice) -> bool {
    choice.column.kind == Kind::Person || holds_people(&choice.profile.name)
}

/// What its cells hold. Names of people are shown nowhere (R7).
fn held(choice: &Choice) -> String {
    let texts = texts(choice.profile);
    match texts.len() {
        0 => "it is empty in this file".to_owned(),
        _ if is_of_people(choice) => "its cells could be people's names".to_owned(),
        _ => format!("it holds {}", counted(&texts, SHOWN)),
    }
}

/// How far the name of a column speaks for it.
fn said(clarity: Option<Clarity>) -> &'static str {
    match clarity {
        Some(Clarity::Exact) => "its name says so",
        Some(Clarity::Weak) => "its name is used for other things too",
        Some(Clarity::Partial) => "only a part of its name says so",
        None => "only its cells say so",
    }
}

fn missing(plan: &Plan, mapped: &[Mapped], asked: &Asked) -> Vec<Missing> {
    let has = |name: &str| mapped.iter().any(|one| one.column.name == name);
    let either: Option<[&'static str; 2]> = match plan.table {
        Table::Matings => Some(MATED),
        Table::Faults => Some(["end_face", "mating"]),
        _ => None,
    };
    let required = columns(plan.table).iter().filter(|column| column.required);
    let made = |name: &str| plan.zones.is_some() && name == "outcome";
    let names = required
        .map(|column| column.name)
        .filter(|name| *name != "site" && !has(name) && !made(name));
    let neither = either.filter(|[one, other]| !has(one) && !has(other)).map(|[one, _]| one);
    // With one end only, nobody can say whether the other was looked at.
    let other = MATED.into_iter().find(|end| plan.table == Table::Matings && !has(end));
    let other = other.filter(|_| neither.is_none());
    let read: Vec<&str> = mapped.iter().flat_map(|one| &one.names).map(String::as_str).collect();
    let rest: Vec<String> = plan
        .candidates
        .iter()
        .map(|candidate| candidate.profile.name.as_str())
        .filter(|name| !read.contains(name))
        .take(12)
        .map(shown)
        .collect();
    let evidence = match rest.is_empty() {
        true => "every column is used otherwise".to_owned(),
        false => format!("neither name nor cells tell; not used so far: {}", rest.join(", ")),
    };
    let question = |name: &str| {
        let codes = asked.allowed(name).map(|codes| format!(" ({})", codes.join(", ")));
        Question {
            question: format!(
                "Which column holds `{name}`{}? If it is the same for every row, give it in `constants`",
                codes.unwrap_or_default()
            ),
            evidence: evidence.clone(),
        }
    };
    let missing = |name| Missing { name, question: question(name), likely: likely(name, asked) };
    names.chain(neither).chain(other).map(missing).collect()
}

/// What the rows of an export without that column most likely have there; an outcome is never the same for every row.
fn likely(name: &str, asked: &Asked) -> Option<String> {
    match name {
        "stage" => {
            let stages = &asked.stages;
            let lit = stages.order.iter().find(|stage| !stages.dark.contains(stage));
            lit.or(stages.order.first()).cloned()
        }
        "method" => asked.codes.method.first().cloned(),
        _ => None,
    }
}
