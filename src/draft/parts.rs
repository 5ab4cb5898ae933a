//! Which parts a map needs: one a table that rows of the file become.

use super::actions::{Action, action};
use super::around::around;
use super::asked::Asked;
use super::choice::{Candidate, choose};
use super::cleaned::cleaned;
use super::fit::Fit;
use super::fold::name_tokens;
use super::name::Name;
use super::page::{Question, shown};
use super::pair::{Pair, alone, pair};
use super::plan::Plan;
use super::vocabulary::Vocabulary;
use super::zones::zones;
use crate::records::{Table, columns};
use crate::settings::{Test, When};
use crate::tabular::profile::ColumnProfile;

/// Most columns that are looked at.
pub const MOST_COLUMNS: usize = 500;
/// What a missing required column takes from a table's score when it is guessed.
const MISSING: f64 = 0.8;
/// What the file's name adds.
const NAMED: f64 = 1.0;

/// The parts, the question about the table if it was not given, and by how many points it leads the next.
pub fn parts<'p>(
    profiles: &'p [ColumnProfile],
    asked: &Asked,
) -> (Vec<Plan<'p>>, Option<Question>, f64) {
    let candidates: Vec<Candidate> = profiles
        .iter()
        .take(MOST_COLUMNS)
        .filter(|profile| is_usable(&profile.name, profiles))
        .map(|profile| Candidate { profile, name: Name::of(&profile.name) })
        .collect();
    if let Some(action) = action(&candidates, asked.table) {
        let parts = by_action(&action, &candidates, asked);
        let question = asked.table.is_none().then(|| guessed_by_action(&action));
        // Its words say it; a word of no table is asked about by itself.
        return (parts, question, f64::INFINITY);
    }
    let (table, question, lead) = match asked.table {
        Some(table) => (table, None, f64::INFINITY),
        None if around(&Plan::of(Table::Inspections, Vec::new()), &candidates, asked).is_some() => {
            let question = Question {
                question: "Are the rows of this file inspections?".to_owned(),
                evidence: "results of before and after a cleaning stand on them".to_owned(),
            };
            (Table::Inspections, Some(question), f64::INFINITY)
        }
        None => {
            let (table, question, lead) = guess(&candidates, asked);
            (table, Some(question), lead)
        }
    };
    (of_table(table, candidates, asked), question, lead)
}

/// A map names columns: it cannot name one without a name, nor one of two with the same.
pub fn is_usable(name: &str, profiles: &[ColumnProfile]) -> bool {
    let namesakes = profiles.iter().filter(|other| other.name == name).take(2).count();
    !name.trim().is_empty() && namesakes == 1
}

fn by_action<'p>(action: &Action, candidates: &[Candidate<'p>], asked: &Asked) -> Vec<Plan<'p>> {
    let rest: Vec<Candidate> = candidates
        .iter()
        .filter(|candidate| candidate.profile.name != action.column)
        .cloned()
        .collect();
    let mut parts = Vec::new();
    for (table, words) in &action.words {
        let is = Test::OneOf(words.clone());
        parts.push(Plan {
            when: Some(When { column: action.column.clone(), is }),
            asked: if parts.is_empty() { action.questions.clone() } else { Vec::new() },
            why: Some(format!(
                "the column {} says which rows are {}",
                shown(&action.column),
                table.name()
            )),
            ..Plan::of(*table, alone(*table, given(&rest, action, words, asked)))
        });
    }
    parts
}

/// The candidates that are given in some row with these words of the action.
fn given<'p>(
    candidates: &[Candidate<'p>],
    action: &Action,
    words: &[String],
    asked: &Asked,
) -> Vec<Candidate<'p>> {
    let is_given = |one: &&Candidate| {
        let rows = asked.rows.of(&[&action.column, &one.profile.name]);
        rows.iter().any(|row| words.iter().any(|word| word == row[0]))
    };
    match asked.rows.tell() {
        true => candidates.iter().filter(is_given).cloned().collect(),
        false => candidates.to_vec(),
    }
}

fn of_table<'p>(table: Table, candidates: Vec<Candidate<'p>>, asked: &Asked) -> Vec<Plan<'p>> {
    let plain = |candidates| Plan::of(table, candidates);
    if table == Table::Inspections
        && let Some(plans) = around(&plain(Vec::new()), &candidates, asked)
    {
        return plans;
    }
    if let Some(zones) = zones(table, &candidates, asked) {
        let is_zone =
            |one: &Candidate| zones.columns.iter().any(|(_, name)| *name == one.profile.name);
        let rest = candidates.into_iter().filter(|one| !is_zone(one)).collect();
        return vec![Plan { zones: Some(zones), ..plain(rest) }];
    }
    if let Some(pair) = pair(table, &candidates) {
        return both_ends(&pair, &plain(candidates));
    }
    let cleaned = cleaned(table, &candidates, asked);
    let Some(cleaned) = cleaned else { return vec![plain(candidates)] };
    let name = cleaned.profile.name.clone();
    let rest: Vec<Candidate> =
        candidates.into_iter().filter(|candidate| candidate.profile.name != name).collect();
    let cleaning = Plan {
        table: Table::Cleanings,
        when: Some(When { column: name.clone(), is: cleaned.when.clone() }),
        why: Some(format!("the column {} holds the cleaning before the look", shown(&name))),
        cleaned: Some(cleaned),
        ..plain(rest.clone())
    };
    vec![plain(rest), cleaning]
}

/// A row that names two end faces becomes a record for each (R2).
fn both_ends<'p>(pair: &Pair, plain: &Plan<'p>) -> Vec<Plan<'p>> {
    [0, 1]
        .map(|end| {
            let column = pair.columns[end].clone();
            Plan {
                why: Some(format!("each row names two end faces; this is {}", shown(&column))),
                when: Some(When { column, is: Test::Given }),
                candidates: pair.side(end, &plain.candidates),
                ..plain.clone()
            }
        })
        .into()
}

/// The table whose columns the export has most of.
fn guess(candidates: &[Candidate], asked: &Asked) -> (Table, Question, f64) {
    let file = name_tokens(&asked.file);
    let meanings = file.iter().flat_map(|token| Vocabulary::get().word("action", token));
    let named: Vec<&str> = meanings.map(|meaning| meaning.of).collect();
    let score = |table: Table| -> f64 {
        let choices = choose(table, candidates, asked);
        let chosen: f64 = choices.iter().map(|choice| choice.score).sum();
        let missing = columns(table).iter().filter(|column| {
            column.required
                && column.name != "site"
                && !choices.iter().any(|choice| choice.column.name == column.name)
        });
        let bonus = if named.contains(&table.name()) { NAMED } else { 0.0 };
        chosen + bonus - MISSING * missing.count() as f64
    };
    let mut scores: Vec<(Table, f64)> = Table::ALL.map(|table| (table, score(table))).into();
    scores.sort_by(|a, b| b.1.total_cmp(&a.1));
    let (best, next) = (scores[0], scores[1]);
    let evidence = format!(
        "its columns fit {} best ({:.1} points), {} next ({:.1})",
        best.0.name(),
        best.1,
        next.0.name(),
        next.1
    );
    let question = format!("Are the rows of this file {}?", best.0.name());
    // A mating has no result.
    let is_looked_at = (best.0, next.0) == (Table::Inspections, Table::Matings)
        && choose(best.0, candidates, asked)
            .iter()
            .any(|choice| choice.column.name == "outcome" && choice.fit == Fit::Good);
    let lead = if is_looked_at { f64::INFINITY } else { best.1 - next.1 };
    (best.0, Question { question, evidence }, lead)
}

fn guessed_by_action(action: &Action) -> Question {
    let tables: Vec<&str> = action.words.iter().map(|(table, _)| table.name()).collect();
    Question {
        question: format!("Are the rows of this file {}?", tables.join(", ")),
        evidence: format!("words of the column {}", shown(&action.column)),
    }
}
