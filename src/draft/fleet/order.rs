//! Which question changes most, and what its answer changes.

use crate::draft::page::LiftedQuestion;

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
        ("columns", "end_face" | "end_face_a" | "end_face_b") => (
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

/// What several questions of one kind are gathered under: words of one canonical column are one question, and
/// units of lengths of time.
pub fn gathered(asked: &LiftedQuestion) -> String {
    match asked.path.strip_prefix("values.") {
        Some(column) => format!("values {column}"),
        None if asked.path == "durations" => asked.path.clone(),
        None => format!(
            "{} {} {}",
            asked.path,
            asked.key,
            asked.answer.as_deref().unwrap_or(&asked.asked.question)
        ),
    }
}
