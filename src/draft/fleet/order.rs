//! Which question changes most, and what its answer changes.

use crate::draft::code::list_name;
use crate::draft::ends::END_FACES;
use crate::draft::page::{LiftedQuestion, parted};

/// How patterns begin that count from 1970.
const EPOCH: &str = "epoch";

/// Rank, from 0, and what the answer changes.
pub fn order(asked: &LiftedQuestion) -> (u8, &'static str) {
    let (path, key) = (asked.path.as_str(), asked.key.as_str());
    let values = path.strip_prefix("values.");
    match (path, key) {
        (_, "table") => (0, "what every row of the export is"),
        (_, "site") => {
            (1, "where every row of the export belongs: every table by site, names that meet")
        }
        (_, "when") => (2, "whether these rows are taken at all"),
        ("dates", _) => {
            (3, "every day and order of the export: what was looked at before it was mated")
        }
        (_, "end_face_names") => (
            4,
            "which looks, cleanings, matings and faults are of one end face: coverage, fault rates, money",
        ),
        ("columns", key) if END_FACES.contains(&key) => (
            5,
            "which looks, cleanings, matings and faults are of one end face: coverage, fault rates, money",
        ),
        ("columns", "outcome") => (5, "every pass and fail of the export"),
        (_, "one_name_both_sides") => (6, "whether both sides of an adapter are one end face"),
        ("", "timezone") => (
            9,
            "in which order records of several exports stand, and the edges of days and quarters",
        ),
        (_, "currency") => (10, "every amount of money"),
        (_, "finding_default") => {
            (11, "whether failing looks count as dirt: cycles, entry, carriers, linked faults")
        }
        (_, "covers") => {
            (12, "over which months faults are counted: fault rates, what skipped looks cost")
        }
        ("columns", "cost") | ("numbers.cost", _) => {
            (12, "what faults cost: money of skipped looks, purchases")
        }
        ("durations", _) | ("columns", "downtime_min" | "labour_min") => {
            (13, "what faults cost: money of skipped looks, purchases")
        }
        (_, "encoding") => (14, "letters beyond ASCII, in names too"),
        (_, "nulls") => (18, "which cells count as not given"),
        (_, "two_digit_years_from") => (8, "the century of every date of the export"),
        ("constants", "stage") => (7, "results by stage, and between which stages dirt enters"),
        ("constants", "side_a" | "side_b") => (8, "which side of an adapter these ends are of"),
        ("constants", "method") => (14, "cleaning methods compared"),
        ("columns", "record") => (15, "which rows repeat or replace earlier ones"),
        ("columns", _) => (15, "results by this column"),
        _ => match values {
            Some("outcome") => (7, "every pass and fail with these words"),
            Some("stage" | "found_stage") => {
                (7, "results by stage, and between which stages dirt enters")
            }
            Some("site") => (6, "where these rows belong"),
            Some("side" | "side_a" | "side_b") => (8, "which side of an adapter these rows are of"),
            Some("cause" | "finding") => {
                (10, "whether these count as contamination: linked faults, money")
            }
            Some("method") => (14, "cleaning methods compared"),
            Some(_) => (16, "results by these words"),
            None => (17, "how the export is read"),
        },
    }
}

/// What several questions of one kind are gathered under: words of one list are one question, units of lengths of time,
/// sites of folders, days that sources cover, columns of one canonical column, sides that names of columns say.
pub fn gathered(asked: &LiftedQuestion) -> String {
    let key = asked.key.as_str();
    match asked.path.split_once('.') {
        Some(("values", column)) => format!("values {}", list_name(column)),
        _ => match asked.path.as_str() {
            "durations" => "durations".to_owned(),
            "dates" if asked.value.contains(EPOCH) => "dates epoch".to_owned(),
            "" if matches!(key, "site" | "covers") => key.to_owned(),
            "columns" if !END_FACES.contains(&key) => format!("columns {key}"),
            "constants" if key.starts_with("side_") => "sides".to_owned(),
            path => {
                let own = asked.answer.as_deref().unwrap_or(&asked.asked.question);
                format!("{path} {key} {own}")
            }
        },
    }
}

/// What is asked of all that are gathered under one question; none where each is asked by itself.
pub fn asked_of_all(group: &[&LiftedQuestion]) -> Option<String> {
    let (count, asked) = (group.len(), group.first().filter(|_| group.len() > 1)?);
    let key = asked.key.as_str();
    let lists = group.iter().map(|one| parted(&one.asked.question).1);
    let list = lists.max_by_key(|list| list.len()).unwrap_or_default();
    if let Some(column) = asked.path.strip_prefix("values.") {
        return Some(format!("What do these {count} words of `{}` mean?{list}", list_name(column)));
    }
    Some(match (asked.path.as_str(), key) {
        ("durations", _) => {
            format!("In which unit are the lengths of time of these {count} columns?")
        }
        ("dates", _) => format!("Do these {count} columns count from 1970?"),
        ("", "site") => {
            format!("Which site is each of these {count} exports or folders of exports from?{list}")
        }
        ("", "covers") => format!(
            "From which day to which do these {count} sources hold every fault? Without a line it is guessed"
        ),
        ("columns", _) => format!("Are these {count} columns what `{key}` is read from?"),
        ("constants", _) => {
            format!("Are the ends in these {count} columns always what their columns are called?")
        }
        _ => return None,
    })
}
